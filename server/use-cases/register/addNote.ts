import type { Context } from '../../context.ts';
import type { Attachment } from '../../contract/cells.ts';
import type { AttachmentSubject } from '../../store/attachments.ts';
import { keepAttachment } from './keepAttachment.ts';

/** Keeps a note with a cell or a stack and returns all that is kept with it. @throws Refusal `not-found` */
export async function addNote(
  context: Context,
  subject: AttachmentSubject,
  text: string,
): Promise<Attachment[]> {
  return keepAttachment(context, subject, { name: 'note', mediaType: 'text/plain', text, data: null });
}
