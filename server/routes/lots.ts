import { notFound } from '../errors.ts';
import { answerBesideServing } from '../jobs/besideServing.ts';
import { hasMoreCellsThan } from '../store/cells.ts';
import { findLot, pageLots } from '../store/lots.ts';
import { judgeLot } from '../use-cases/lots/judgeLot.ts';
import { keptOfLot } from '../use-cases/lots/keptOfLot.ts';
import { readLotCells } from '../use-cases/lots/readLotCells.ts';
import { readLotColumns } from '../use-cases/lots/readLotColumns.ts';
import { relateColumns } from '../use-cases/lots/relateColumns.ts';
import { changeLot, removeEmptyLot } from '../use-cases/register/changeLot.ts';
import { createLot } from '../use-cases/register/createLot.ts';
import { findWarningSigns } from '../use-cases/register/findWarningSigns.ts';
import { defineRoute, type Route } from './route.ts';

/** Statistics of so many cells take no longer than other requests. */
const fewCells = 1000;

export const lotRoutes: readonly Route[] = [
  defineRoute('GET /lots', {
    role: 'reader',
    handle: async ({ context, query }) => pageLots(context.store, query),
  }),
  defineRoute('POST /lots', {
    role: 'operator',
    handle: async ({ context, body }) => createLot(context, body),
  }),
  defineRoute('GET /lots/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findLot(context.store, params.id);
      if (!found) throw notFound('lot', params.id);
      return found;
    },
  }),
  defineRoute('PATCH /lots/{id}', {
    role: 'operator',
    handle: async ({ context, params, body, version }) => changeLot(context, params.id, version, body),
  }),
  defineRoute('DELETE /lots/{id}', {
    role: 'owner',
    handle: async ({ context, params, version }) => {
      await removeEmptyLot(context, params.id, version);
      return undefined;
    },
  }),
  defineRoute('GET /lots/{id}/columns', {
    role: 'reader',
    handle: async ({ context, params }) =>
      keptOfLot(context.store, params.id, 'columns', async () => readLotColumns(context, params.id)),
  }),
  defineRoute('GET /lots/{id}/cells', {
    role: 'reader',
    handle: async ({ context, params, query }) => readLotCells(context, params.id, query),
  }),
  defineRoute('GET /lots/{id}/statistics', {
    role: 'reader',
    handle: async ({ context, params: { id }, query }) =>
      keptOfLot(context.store, id, JSON.stringify(query), async () => {
        const { columns, ...tolerance } = query;
        return (await hasMoreCellsThan(context.store, id, fewCells))
          ? answerBesideServing(context, 'judge-lot', [id, columns, tolerance])
          : judgeLot(context, id, columns, tolerance);
      }),
  }),
  defineRoute('GET /lots/{id}/line', {
    role: 'reader',
    handle: async ({ context, params, query }) => relateColumns(context, params.id, query),
  }),
  defineRoute('GET /lots/{id}/warnings', {
    role: 'reader',
    handle: async ({ context, params }) => ({ items: await findWarningSigns(context, params.id) }),
  }),
];
