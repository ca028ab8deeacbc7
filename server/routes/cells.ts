import {
  cell,
  cellListQuery,
  cellPage,
  changeCell as changeBody,
  createCell as createBody,
} from '../contract/cells.ts';
import { idParameter } from '../contract/common.ts';
import { measurementPage, measurementQuery, provenance } from '../contract/measurements.ts';
import { notFound } from '../errors.ts';
import { findCell, pageCells } from '../store/cells.ts';
import { pageMeasurements } from '../store/measurements.ts';
import { traceMeasurement } from '../use-cases/parameters/traceMeasurement.ts';
import { changeCell } from '../use-cases/register/changeCell.ts';
import { createCell } from '../use-cases/register/createCell.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Cells';

export const cellRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/cells',
    tag,
    summary: 'Cells across lots, by serial',
    role: 'reader',
    query: cellListQuery,
    answer: cellPage,
    handle: async ({ context, query }) => pageCells(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/cells',
    tag,
    summary: 'Add a cell to a lot',
    role: 'operator',
    body: createBody,
    answer: cell,
    status: 201,
    idempotent: true,
    handle: async ({ context, body }) => createCell(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/cells/{id}',
    tag,
    summary: 'A cell',
    role: 'reader',
    params: idParameter,
    answer: cell,
    handle: async ({ context, params }) => {
      const found = await findCell(context.store, params.id);
      if (!found) throw notFound('cell', params.id);
      return found;
    },
  }),
  defineRoute({
    method: 'patch',
    path: '/cells/{id}',
    tag,
    summary: 'Set a cell aside, take it back, retire it, or change its note',
    role: 'operator',
    params: idParameter,
    body: changeBody,
    answer: cell,
    changesVersion: true,
    handle: async ({ context, params, body, version }) => changeCell(context, params.id, version, body),
  }),
  defineRoute({
    method: 'get',
    path: '/cells/{id}/measurements',
    tag,
    summary: 'What was measured of a cell, with conditions and uncertainties',
    role: 'reader',
    params: idParameter,
    query: measurementQuery,
    answer: measurementPage,
    handle: async ({ context, params, query }) => {
      if (!(await findCell(context.store, params.id))) throw notFound('cell', params.id);
      return pageMeasurements(context.store, params.id, query);
    },
  }),
  defineRoute({
    method: 'get',
    path: '/measurements/{id}/origin',
    tag,
    summary: 'Where a number came from: fit, test, rows, file, who and when',
    role: 'reader',
    params: idParameter,
    answer: provenance,
    handle: async ({ context, params }) => traceMeasurement(context, params.id),
  }),
];
