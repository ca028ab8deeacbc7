import { type Context, nowText } from '../../context.ts';
import type { Attachment } from '../../contract/cells.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { type AttachmentSubject, insertAttachment, listAttachments } from '../../store/attachments.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import { findStack } from '../../store/stacks.ts';

/** First bytes of the kinds of pictures that are kept. */
const signatures: Readonly<Record<string, (data: Uint8Array) => boolean>> = {
  'image/jpeg': (data) => data[0] === 0xff && data[1] === 0xd8,
  'image/png': (data) => data[0] === 0x89 && data[1] === 0x50 && data[2] === 0x4e && data[3] === 0x47,
  'image/webp': (data) => Buffer.from(data.subarray(8, 12)).toString('latin1') === 'WEBP',
};

/** Keeps a picture with a cell or a stack and returns all that is kept with it. */
export function addPicture(
  context: Context,
  subject: AttachmentSubject,
  picture: { name: string; mediaType: string; data: Uint8Array },
): Attachment[] {
  const { store } = context;
  const [kind, id] =
    'cellId' in subject ? (['cell', subject.cellId] as const) : (['stack', subject.stackId] as const);
  if (!(kind === 'cell' ? findCell(store, id) : findStack(store, id))) throw notFound(kind, id);
  if (!signatures[picture.mediaType]?.(picture.data)) {
    throw new Refusal('unsupported-media-type', `The file is not a picture of type ${picture.mediaType}.`, [
      fieldError('body', picture.name, 'its first bytes say otherwise', 'a JPEG, PNG or WebP picture'),
    ]);
  }
  const at = nowText(context);
  store.transaction(() => {
    insertAttachment(store, subject, {
      ...picture,
      text: null,
      createdAt: at,
      createdBy: context.actor.name,
    });
    insertAudit(store, {
      at,
      actor: context.actor.name,
      action: `${kind}.noted`,
      subjectKind: kind,
      subjectId: id,
      detail: { picture: picture.name },
    });
  });
  return listAttachments(store, subject);
}
