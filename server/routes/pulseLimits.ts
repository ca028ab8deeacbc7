import { readPulseLimits } from '../use-cases/evaluation/readPulseLimits.ts';
import { defineRoute, type Route } from './route.ts';

export const pulseLimitRoutes: readonly Route[] = [
  defineRoute('GET /tests/{id}/pulse-limits', {
    role: 'reader',
    handle: async ({ context, params, query }) => readPulseLimits(context, params.id, query),
  }),
];
