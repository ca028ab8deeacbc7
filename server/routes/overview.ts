import { nowText } from '../context.ts';
import { readOverview } from '../store/overview.ts';
import { defineRoute, type Route } from './route.ts';

export const overviewRoutes: readonly Route[] = [
  defineRoute('GET /overview', {
    role: 'reader',
    handle: async ({ context }) => readOverview(context.store, nowText(context)),
  }),
];
