import { idParameter } from '../contract/common.ts';
import { liveSamples, liveState, openLiveTest as openBody } from '../contract/liveRecords.ts';
import { fieldError, Refusal } from '../errors.ts';
import {
  appendLiveSamples,
  closeLiveTest,
  openLiveTest,
  readLiveTest,
} from '../use-cases/imports/liveTest.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

const tag = 'Live records';

export const liveRecordRoutes: readonly Route[] = [
  defineRoute({
    method: 'post',
    path: '/cells/{id}/live-tests',
    tag,
    summary: 'Open a test whose samples come while it runs',
    role: 'operator',
    params: idParameter,
    body: openBody,
    answer: liveState,
    status: 201,
    idempotent: true,
    handle: async ({ context, params, body }) => openLiveTest(context, params.id, body),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/samples',
    tag,
    summary: 'How many samples are stored, so that a sender that was cut off knows where to go on',
    role: 'reader',
    params: idParameter,
    answer: liveState,
    handle: async ({ context, params }) => readLiveTest(context, params.id),
  }),
  defineRawRoute({
    method: 'post',
    path: '/tests/{id}/samples',
    tag,
    summary: 'Append samples; needs an Idempotency-Key, and what is answered is on the disk',
    role: 'operator',
    params: idParameter,
    takes: ['application/json'],
    gives: 'application/json',
    answer: liveState,
    handleRaw: async ({ context, params }, request, response) => {
      const key = request.get('Idempotency-Key');
      if (key === undefined || !/^[\x21-\x7e]{1,200}$/.test(key)) {
        throw new Refusal('invalid-request', 'A batch of samples needs an Idempotency-Key.', [
          fieldError(
            'Idempotency-Key',
            key,
            'missing or not usable',
            '1 to 200 visible ASCII characters, another for each batch',
          ),
        ]);
      }
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
  defineRoute({
    method: 'post',
    path: '/tests/{id}/close',
    tag,
    summary: 'Close an open test: it takes no more samples and can be evaluated',
    role: 'operator',
    params: idParameter,
    answer: liveState,
    handle: async ({ context, params }) => closeLiveTest(context, params.id),
  }),
];
