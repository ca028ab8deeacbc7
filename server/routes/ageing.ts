import { ageingQuery, ageingSettings, cellAgeing, lotAgeing } from '../contract/ageingAssessment.ts';
import { idParameter } from '../contract/common.ts';
import { job } from '../contract/jobs.ts';
import { putJob } from '../jobs/queue.ts';
import { readAgeingRequest } from '../use-cases/ageing/ageingRequest.ts';
import { readCellAgeing, readLotAgeing } from '../use-cases/ageing/readAgeing.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Ageing';

export const ageingRoutes: readonly Route[] = [
  defineRoute({
    method: 'post',
    path: '/lots/{id}/ageing',
    tag,
    summary:
      'Assess the ageing of a lot as a job: series, models, limits, forecasts, drifting stacks, stress',
    role: 'operator',
    params: idParameter,
    body: ageingSettings,
    answer: job,
    status: 202,
    idempotent: true,
    handle: async ({ context, params, body }) => {
      // What would be refused is refused now and not only when the job's turn has come.
      await readAgeingRequest(context, params.id, body);
      return putJob(context, 'ageing', { lotId: params.id, settings: body });
    },
  }),
  defineRoute({
    method: 'get',
    path: '/lots/{id}/ageing',
    tag,
    summary:
      'The ageing of a lot as last assessed: its cells over each other, drifting stacks, life against stress; null where it was not assessed',
    role: 'reader',
    params: idParameter,
    query: ageingQuery,
    answer: lotAgeing.nullable(),
    handle: async ({ context, params, query }) => readLotAgeing(context, params.id, query.quantity),
  }),
  defineRoute({
    method: 'get',
    path: '/cells/{id}/ageing',
    tag,
    summary:
      'The ageing of a cell as last assessed: series, models, limits, forecasts, fan; null where it was not assessed',
    role: 'reader',
    params: idParameter,
    query: ageingQuery,
    answer: cellAgeing.nullable(),
    handle: async ({ context, params, query }) => readCellAgeing(context, params.id, query.quantity),
  }),
];
