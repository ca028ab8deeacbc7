import { notFound } from '../errors.ts';
import { findCellType, pageCellTypes } from '../store/cellTypes.ts';
import { changeCellType } from '../use-cases/register/changeCellType.ts';
import { createCellType } from '../use-cases/register/createCellType.ts';
import { defineRoute, type Route } from './route.ts';

export const cellTypeRoutes: readonly Route[] = [
  defineRoute('GET /cell-types', {
    role: 'reader',
    handle: async ({ context, query }) => pageCellTypes(context.store, query),
  }),
  defineRoute('POST /cell-types', {
    role: 'operator',
    handle: async ({ context, body }) => createCellType(context, body),
  }),
  defineRoute('GET /cell-types/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findCellType(context.store, params.id);
      if (!found) throw notFound('cell type', params.id);
      return found;
    },
  }),
  defineRoute('PATCH /cell-types/{id}', {
    role: 'operator',
    handle: async ({ context, params, body, version }) => changeCellType(context, params.id, version, body),
  }),
];
