import express from 'express';
import { keepPicture } from '../contract/endpoints/keepPicture.ts';
import { fieldError, notFound, Refusal } from '../errors.ts';
import { type AttachmentSubject, readAttachment } from '../store/attachments.ts';
import { addPicture } from '../use-cases/register/addPicture.ts';
import { defineRawRoute, type Route } from './route.ts';

const pictureTypes = [...keepPicture.takes];
const limitBytes = 10 * 1024 * 1024;
const readBody = express.raw({ type: pictureTypes, limit: limitBytes });

function pictureRoute(kind: 'cells' | 'stacks', subjectOf: (id: number) => AttachmentSubject): Route {
  return defineRawRoute(`POST /${kind}/{id}/pictures`, {
    role: 'operator',
    handleRaw: async ({ context, params }, request, response) => {
      await new Promise<void>((resolve, reject) =>
        readBody(request, response, (error?: unknown) => (error ? reject(error) : resolve())),
      );
      const body: unknown = request.body;
      if (!Buffer.isBuffer(body) || body.length === 0) {
        throw new Refusal('unsupported-media-type', 'A picture is sent as the body of the request.', [
          fieldError('Content-Type', request.get('Content-Type'), 'not a picture', pictureTypes.join(', ')),
        ]);
      }
      const mediaType = (request.get('Content-Type') ?? '').split(';')[0].trim().toLowerCase();
      const name = nameOf(request.get('X-File-Name') ?? 'picture');
      const items = await addPicture(context, subjectOf(params.id), { name, mediaType, data: body });
      response.status(201).json({ items });
    },
  });
}

/** A file name in a header is percent-encoded, because headers are ASCII. */
function nameOf(header: string): string {
  try {
    return decodeURIComponent(header).slice(0, 120);
  } catch (error) {
    if (!(error instanceof URIError)) throw error;
    throw new Refusal('invalid-request', 'The name of the picture cannot be read.', [
      fieldError('X-File-Name', header, 'not percent-encoded text', 'for example front%20side.jpg'),
    ]);
  }
}

export const pictureRoutes: readonly Route[] = [
  pictureRoute('cells', (cellId) => ({ cellId })),
  pictureRoute('stacks', (stackId) => ({ stackId })),
  defineRawRoute('GET /attachments/{id}/content', {
    role: 'reader',
    handleRaw: async ({ context, params }, _request, response) => {
      const picture = await readAttachment(context.store, params.id);
      if (!picture) throw notFound('picture', params.id);
      response
        .set('Content-Security-Policy', "default-src 'none'")
        .type(picture.mediaType)
        .send(Buffer.from(picture.data));
    },
  }),
];
