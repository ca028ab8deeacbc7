import { studyGauge } from '../use-cases/lots/studyGauge.ts';
import { defineRoute, type Route } from './route.ts';

export const gaugeRoutes: readonly Route[] = [
  defineRoute('GET /lots/{id}/gauge', {
    role: 'reader',
    handle: async ({ context, params, query }) => studyGauge(context, params.id, query.column),
  }),
];
