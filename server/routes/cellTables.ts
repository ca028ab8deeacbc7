import { readCellTables } from '../use-cases/parameters/readCellTables.ts';
import { defineRoute, type Route } from './route.ts';

export const cellTableRoutes: readonly Route[] = [
  defineRoute('GET /cells/{id}/tables', {
    role: 'reader',
    handle: async ({ context, params, query }) => readCellTables(context, params.id, query),
  }),
];
