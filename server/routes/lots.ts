import { cellQuery, cellRowPage } from '../contract/cells.ts';
import { idParameter } from '../contract/common.ts';
import {
  changeLot as changeBody,
  createLot as createBody,
  lot,
  lotColumns,
  lotPage,
  lotQuery,
  lotStatistics,
  lotStatisticsQuery,
  warningSignList,
} from '../contract/lots.ts';
import { notFound } from '../errors.ts';
import { findLot, pageLots } from '../store/lots.ts';
import { judgeLot } from '../use-cases/lots/judgeLot.ts';
import { readLotCells } from '../use-cases/lots/readLotCells.ts';
import { readLotColumns } from '../use-cases/lots/readLotColumns.ts';
import { changeLot, removeEmptyLot } from '../use-cases/register/changeLot.ts';
import { createLot } from '../use-cases/register/createLot.ts';
import { findWarningSigns } from '../use-cases/register/findWarningSigns.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Lots';

export const lotRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/lots',
    tag,
    summary: 'Lots, newest first',
    role: 'reader',
    query: lotQuery,
    answer: lotPage,
    handle: async ({ context, query }) => pageLots(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/lots',
    tag,
    summary: 'Add a lot: one delivery of one cell type',
    role: 'operator',
    body: createBody,
    answer: lot,
    status: 201,
    idempotent: true,
    handle: async ({ context, body }) => createLot(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/lots/{id}',
    tag,
    summary: 'A lot with its counts',
    role: 'reader',
    params: idParameter,
    answer: lot,
    handle: async ({ context, params }) => {
      const found = await findLot(context.store, params.id);
      if (!found) throw notFound('lot', params.id);
      return found;
    },
  }),
  defineRoute({
    method: 'patch',
    path: '/lots/{id}',
    tag,
    summary: 'Change a lot',
    role: 'operator',
    params: idParameter,
    body: changeBody,
    answer: lot,
    changesVersion: true,
    handle: async ({ context, params, body, version }) => changeLot(context, params.id, version, body),
  }),
  defineRoute({
    method: 'delete',
    path: '/lots/{id}',
    tag,
    summary: 'Remove a lot that holds no cells',
    role: 'owner',
    params: idParameter,
    changesVersion: true,
    handle: async ({ context, params, version }) => {
      await removeEmptyLot(context, params.id, version);
      return undefined;
    },
  }),
  defineRoute({
    method: 'get',
    path: '/lots/{id}/columns',
    tag,
    summary: 'What can be compared between the cells of a lot',
    role: 'reader',
    params: idParameter,
    answer: lotColumns,
    handle: async ({ context, params }) => readLotColumns(context, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/lots/{id}/cells',
    tag,
    summary: 'The cells of a lot with their present values, sorted and filtered',
    role: 'reader',
    params: idParameter,
    query: cellQuery,
    answer: cellRowPage,
    handle: async ({ context, params, query }) => readLotCells(context, params.id, query),
  }),
  defineRoute({
    method: 'get',
    path: '/lots/{id}/statistics',
    tag,
    summary: 'Spread, outliers, normality and capability of a lot',
    role: 'reader',
    params: idParameter,
    query: lotStatisticsQuery,
    answer: lotStatistics,
    handle: async ({ context, params, query }) => judgeLot(context, params.id, query.columns),
  }),
  defineRoute({
    method: 'get',
    path: '/lots/{id}/warnings',
    tag,
    summary: 'Cells with a warning sign, which are never offered for pairing',
    role: 'reader',
    params: idParameter,
    answer: warningSignList,
    handle: async ({ context, params }) => ({ items: await findWarningSigns(context, params.id) }),
  }),
];
