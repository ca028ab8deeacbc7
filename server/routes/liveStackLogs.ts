import { liveLogRows } from '../contract/liveStackLogs.ts';
import { Refusal } from '../errors.ts';
import {
  appendToLiveLog,
  closeLiveLog,
  listOpenLiveLogs,
  openLiveLog,
  readLiveLog,
} from '../use-cases/imports/liveStackLog.ts';
import { sentenceOf, wrongFields } from '../wrongFields.ts';
import { batchKeyOf } from './liveRecords.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

export const liveStackLogRoutes: readonly Route[] = [
  defineRoute('POST /stacks/{id}/live-logs', {
    role: 'operator',
    handle: ({ context, params, body }) => openLiveLog(context, params.id, body),
  }),
  defineRoute('GET /stacks/{id}/live-logs', {
    role: 'reader',
    handle: ({ context, params }) => listOpenLiveLogs(context, params.id),
  }),
  defineRoute('GET /live-logs/{id}', {
    role: 'reader',
    handle: ({ context, params }) => readLiveLog(context, params.id),
  }),
  defineRawRoute('POST /live-logs/{id}/rows', {
    role: 'operator',
    handleRaw: async ({ context, params }, request, response) => {
      const key = batchKeyOf(request);
      const given: unknown = request.body ?? {};
      const body = liveLogRows.safeParse(given);
      if (!body.success) {
        const places = wrongFields(body.error, given, 'body', liveLogRows);
        throw new Refusal('invalid-request', `The rows cannot be read: ${sentenceOf(places)}`, places);
      }
      response.json(await appendToLiveLog(context, params.id, key, body.data));
    },
  }),
  defineRoute('POST /live-logs/{id}/close', {
    role: 'operator',
    handle: ({ context, params }) => closeLiveLog(context, params.id),
  }),
];
