import type { Context } from '../../context.ts';
import type { Attachment } from '../../contract/cells.ts';
import { fieldError, Refusal } from '../../errors.ts';
import type { AttachmentSubject } from '../../store/attachments.ts';
import { needSubject } from './attachmentSubject.ts';
import { keepAttachment } from './keepAttachment.ts';

/** First bytes of the kinds of pictures that are kept. */
const signatures: Readonly<Record<string, (data: Uint8Array) => boolean>> = {
  'image/jpeg': (data) => data[0] === 0xff && data[1] === 0xd8,
  'image/png': (data) => data[0] === 0x89 && data[1] === 0x50 && data[2] === 0x4e && data[3] === 0x47,
  'image/webp': (data) => Buffer.from(data.subarray(8, 12)).toString('latin1') === 'WEBP',
};

/**
 * Keeps a picture with a cell or a stack and returns all that is kept with it.
 *
 * @throws Refusal `not-found`, `unsupported-media-type` where the bytes are not what they are said to be
 */
export async function addPicture(
  context: Context,
  subject: AttachmentSubject,
  picture: { name: string; mediaType: string; data: Uint8Array },
): Promise<Attachment[]> {
  await needSubject(context, subject);
  if (!signatures[picture.mediaType]?.(picture.data)) {
    throw new Refusal('unsupported-media-type', `The file is not a picture of type ${picture.mediaType}.`, [
      fieldError('body', picture.name, 'its first bytes say otherwise', 'a JPEG, PNG or WebP picture'),
    ]);
  }
  return keepAttachment(context, subject, { ...picture, text: null }, { picture: picture.name });
}
