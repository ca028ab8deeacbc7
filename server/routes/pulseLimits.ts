import { idParameter } from '../contract/common.ts';
import { pulseLimits, pulseLimitsQuery } from '../contract/pulseLimits.ts';
import { readPulseLimits } from '../use-cases/evaluation/readPulseLimits.ts';
import { defineRoute, type Route } from './route.ts';

export const pulseLimitRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/tests/{id}/pulse-limits',
    tag: 'Tests',
    summary:
      'The largest pulse currents by an evaluated pulse test, under voltage limits, ratings and an SOC window',
    role: 'reader',
    params: idParameter,
    query: pulseLimitsQuery,
    answer: pulseLimits,
    handle: async ({ context, params, query }) => readPulseLimits(context, params.id, query),
  }),
];
