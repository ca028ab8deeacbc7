import { cellTables, cellTablesQuery } from '../contract/cellTables.ts';
import { idParameter } from '../contract/common.ts';
import { readCellTables } from '../use-cases/parameters/readCellTables.ts';
import { defineRoute, type Route } from './route.ts';

export const cellTableRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/cells/{id}/tables',
    tag: 'Cells',
    summary:
      'The circuit parameters of a cell over SOC and temperature, with flags outside what was measured',
    role: 'reader',
    params: idParameter,
    query: cellTablesQuery,
    answer: cellTables,
    handle: async ({ context, params, query }) => readCellTables(context, params.id, query),
  }),
];
