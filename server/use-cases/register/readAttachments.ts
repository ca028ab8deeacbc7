import type { Context } from '../../context.ts';
import type { Attachment } from '../../contract/cells.ts';
import { type AttachmentSubject, listAttachments } from '../../store/attachments.ts';
import { needSubject } from './attachmentSubject.ts';

/** The notes and pictures kept with a cell or a stack, newest first. @throws Refusal `not-found` */
export async function readAttachments(context: Context, subject: AttachmentSubject): Promise<Attachment[]> {
  await needSubject(context, subject);
  return listAttachments(context.store, subject);
}
