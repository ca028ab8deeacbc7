import { nowText } from '../context.ts';
import { overview } from '../contract/overview.ts';
import { readOverview } from '../store/overview.ts';
import { defineRoute, type Route } from './route.ts';

export const overviewRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/overview',
    tag: 'Overview',
    summary: 'Counts along the way through the job, and what waits to be done',
    role: 'reader',
    answer: overview,
    handle: async ({ context }) => readOverview(context.store, nowText(context)),
  }),
];
