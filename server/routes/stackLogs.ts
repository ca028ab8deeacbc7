import { putJob } from '../jobs/queue.ts';
import { pageStackLogFits } from '../store/stackLogFits.ts';
import { pageStackLogs } from '../store/stackLogs.ts';
import { readOperatingPointsOfLog } from '../use-cases/stack-logs/readOperatingPointsOfLog.ts';
import { readStackLog, readStackLogSeries } from '../use-cases/stack-logs/readStackLog.ts';
import { readStackLogEvaluation } from '../use-cases/stack-logs/readStackLogEvaluation.ts';
import { takeOverFromLogs } from '../use-cases/stack-logs/takeOver.ts';
import { publicJob } from './publicJob.ts';
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
  defineRoute('GET /stack-logs/{id}/operating-points', {
    role: 'reader',
    handle: ({ context, params }) => readOperatingPointsOfLog(context, params.id),
  }),
  defineRoute('GET /stack-log-evaluations', {
    role: 'reader',
    handle: ({ context, query }) => pageStackLogFits(context.store, query),
  }),
  defineRoute('POST /stack-log-evaluations', {
    role: 'operator',
    handle: async ({ context, body }) => {
      for (const logId of body.logIds) await readStackLog(context, logId);
      return publicJob(await putJob(context, 'charge-log', body));
    },
  }),
  defineRoute('GET /stack-log-evaluations/{id}', {
    role: 'reader',
    handle: ({ context, params }) => readStackLogEvaluation(context, params.id),
  }),
  defineRoute('POST /stack-log-evaluations/{id}/take-over', {
    role: 'operator',
    handle: ({ context, params, body }) => takeOverFromLogs(context, params.id, body),
  }),
];
