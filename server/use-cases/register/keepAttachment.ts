import { type Context, nowText } from '../../context.ts';
import type { Attachment } from '../../contract/cells.ts';
import {
  type AttachmentSubject,
  insertAttachment,
  listAttachments,
  type NewAttachment,
} from '../../store/attachments.ts';
import { insertAudit } from '../../store/audit.ts';
import { needSubject } from './attachmentSubject.ts';

/**
 * Keeps a note or a picture with a cell or a stack and returns all that is kept with it.
 *
 * @param detail what the audit tells of it
 * @throws Refusal `not-found`
 */
export async function keepAttachment(
  context: Context,
  subject: AttachmentSubject,
  attachment: Omit<NewAttachment, 'createdAt' | 'createdBy'>,
  detail: Record<string, string> = {},
): Promise<Attachment[]> {
  const { store, actor } = context;
  const { kind, id } = await needSubject(context, subject);
  const at = nowText(context);
  await store.transaction(async (store) => {
    await insertAttachment(store, subject, { ...attachment, createdAt: at, createdBy: actor.name });
    await insertAudit(store, {
      at,
      actor: actor.name,
      action: `${kind}.noted`,
      subjectKind: kind,
      subjectId: id,
      detail,
    });
  });
  return listAttachments(store, subject);
}
