import { putJob } from '../jobs/queue.ts';
import { readAgeingRequest } from '../use-cases/ageing/ageingRequest.ts';
import { readCellAgeing, readLotAgeing } from '../use-cases/ageing/readAgeing.ts';
import { defineRoute, type Route } from './route.ts';

export const ageingRoutes: readonly Route[] = [
  defineRoute('POST /lots/{id}/ageing', {
    role: 'operator',
    handle: async ({ context, params, body }) => {
      // What would be refused is refused now and not only when the job's turn has come.
      await readAgeingRequest(context, params.id, body);
      return putJob(context, 'ageing', { lotId: params.id, settings: body });
    },
  }),
  defineRoute('GET /lots/{id}/ageing', {
    role: 'reader',
    handle: async ({ context, params, query }) => readLotAgeing(context, params.id, query.quantity),
  }),
  defineRoute('GET /cells/{id}/ageing', {
    role: 'reader',
    handle: async ({ context, params, query }) => readCellAgeing(context, params.id, query.quantity),
  }),
];
