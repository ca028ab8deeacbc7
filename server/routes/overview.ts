import { nowText } from '../context.ts';
import { atOneMoment } from '../store/atOneMoment.ts';
import { readOverview } from '../store/overview.ts';
import { defineRoute, type Route } from './route.ts';

export const overviewRoutes: readonly Route[] = [
  defineRoute('GET /overview', {
    role: 'reader',
    // It is asked often, and while a bench appends something always changes: an SQLite file is read once.
    handle: async ({ context }) => atOneMoment(context.store, (at) => readOverview(at, nowText(context)), 1),
  }),
];
