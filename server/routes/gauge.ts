import { idParameter } from '../contract/common.ts';
import { gaugeQuery, gaugeStudy } from '../contract/gauge.ts';
import { studyGauge } from '../use-cases/lots/studyGauge.ts';
import { defineRoute, type Route } from './route.ts';

export const gaugeRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/lots/{id}/gauge',
    tag: 'Lots',
    summary:
      'Whether fixture and instrument can tell the cells of a lot apart, from repeated tests of the same cells',
    role: 'reader',
    params: idParameter,
    query: gaugeQuery,
    answer: gaugeStudy,
    handle: async ({ context, params, query }) => studyGauge(context, params.id, query.column),
  }),
];
