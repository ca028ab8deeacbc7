import { notFound } from '../errors.ts';
import { findCell, pageCells } from '../store/cells.ts';
import { pageMeasurements } from '../store/measurements.ts';
import { traceMeasurement } from '../use-cases/parameters/traceMeasurement.ts';
import { changeCell } from '../use-cases/register/changeCell.ts';
import { changeMeasurement } from '../use-cases/register/changeMeasurement.ts';
import { createCell } from '../use-cases/register/createCell.ts';
import { defineRoute, type Route } from './route.ts';

export const cellRoutes: readonly Route[] = [
  defineRoute('GET /cells', {
    role: 'reader',
    handle: async ({ context, query }) => pageCells(context.store, query),
  }),
  defineRoute('POST /cells', {
    role: 'operator',
    handle: async ({ context, body }) => createCell(context, body),
  }),
  defineRoute('GET /cells/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findCell(context.store, params.id);
      if (!found) throw notFound('cell', params.id);
      return found;
    },
  }),
  defineRoute('PATCH /cells/{id}', {
    role: 'operator',
    handle: async ({ context, params, body, version }) => changeCell(context, params.id, version, body),
  }),
  defineRoute('GET /cells/{id}/measurements', {
    role: 'reader',
    handle: async ({ context, params, query }) => {
      if (!(await findCell(context.store, params.id))) throw notFound('cell', params.id);
      return pageMeasurements(context.store, params.id, query);
    },
  }),
  defineRoute('PATCH /measurements/{id}', {
    role: 'operator',
    handle: ({ context, params, body }) => changeMeasurement(context, params.id, body),
  }),
  defineRoute('GET /measurements/{id}/origin', {
    role: 'reader',
    handle: async ({ context, params }) => traceMeasurement(context, params.id),
  }),
];
