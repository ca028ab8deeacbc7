import { type Context, nowText } from '../../context.ts';
import type { Attachment } from '../../contract/cells.ts';
import { notFound } from '../../errors.ts';
import { type AttachmentSubject, insertAttachment, listAttachments } from '../../store/attachments.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import { findStack } from '../../store/stacks.ts';

/** Keeps a note with a cell or a stack and returns all of its notes. */
export function addNote(context: Context, subject: AttachmentSubject, text: string): Attachment[] {
  const { store } = context;
  const [kind, id] =
    'cellId' in subject ? (['cell', subject.cellId] as const) : (['stack', subject.stackId] as const);
  if (!(kind === 'cell' ? findCell(store, id) : findStack(store, id))) throw notFound(kind, id);
  const at = nowText(context);
  store.transaction(() => {
    insertAttachment(store, subject, {
      name: 'note',
      mediaType: 'text/plain',
      text,
      data: null,
      createdAt: at,
      createdBy: context.actor.name,
    });
    insertAudit(store, {
      at,
      actor: context.actor.name,
      action: `${kind}.noted`,
      subjectKind: kind,
      subjectId: id,
    });
  });
  return listAttachments(store, subject);
}
