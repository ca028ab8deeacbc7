import { pageStackLogs } from '../store/stackLogs.ts';
import { readStackLog, readStackLogSeries } from '../use-cases/stack-logs/readStackLog.ts';
import { defineRoute, type Route } from './route.ts';

export const stackLogRoutes: readonly Route[] = [
  defineRoute('GET /stack-logs', {
    role: 'reader',
    handle: async ({ context, query }) => pageStackLogs(context.store, query),
  }),
  defineRoute('GET /stack-logs/{id}', {
    role: 'reader',
    handle: ({ context, params }) => readStackLog(context, params.id),
  }),
  defineRoute('GET /stack-logs/{id}/series', {
    role: 'reader',
    handle: ({ context, params }) => readStackLogSeries(context, params.id),
  }),
];
