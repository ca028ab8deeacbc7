import type { Request } from 'express';
import { liveSamples } from '../contract/liveRecords.ts';
import { fieldError, Refusal } from '../errors.ts';
import {
  appendLiveSamples,
  closeLiveTest,
  openLiveTest,
  readLiveTest,
} from '../use-cases/imports/liveTest.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

export const liveRecordRoutes: readonly Route[] = [
  defineRoute('POST /cells/{id}/live-tests', {
    role: 'operator',
    handle: async ({ context, params, body }) => openLiveTest(context, params.id, body),
  }),
  defineRoute('GET /tests/{id}/samples', {
    role: 'reader',
    handle: async ({ context, params }) => readLiveTest(context, params.id),
  }),
  defineRawRoute('POST /tests/{id}/samples', {
    role: 'operator',
    handleRaw: async ({ context, params }, request, response) => {
      const key = batchKeyOf(request);
      const body = liveSamples.safeParse(request.body ?? {});
      if (!body.success) {
        throw new Refusal(
          'invalid-request',
          `The samples cannot be read: ${body.error.issues[0].path.join('.')}: ${body.error.issues[0].message}`,
          body.error.issues
            .slice(0, 20)
            .map((issue) =>
              fieldError(issue.path.join('.'), undefined, issue.message, 'numbers in equally long lists'),
            ),
        );
      }
      response.json(await appendLiveSamples(context, params.id, key, body.data));
    },
  }),
  defineRoute('POST /tests/{id}/close', {
    role: 'operator',
    handle: async ({ context, params }) => closeLiveTest(context, params.id),
  }),
];

/** The key of a batch of samples or rows. @throws Refusal `invalid-request` where it is missing or not usable */
export function batchKeyOf(request: Request): string {
  const key = request.get('Idempotency-Key');
  if (key !== undefined && /^[\x21-\x7e]{1,200}$/.test(key)) return key;
  throw new Refusal('invalid-request', 'A batch of samples needs an Idempotency-Key.', [
    fieldError(
      'Idempotency-Key',
      key,
      'missing or not usable',
      '1 to 200 visible ASCII characters, another for each batch',
    ),
  ]);
}
