import { notFound } from '../errors.ts';
import { fitCellHeatBalance } from '../use-cases/charging/fitCellHeatBalance.ts';
import { readCellHeatBalance } from '../use-cases/charging/readHeatBalance.ts';
import { defineRoute, type Route } from './route.ts';

export const heatBalanceRoutes: readonly Route[] = [
  defineRoute('POST /tests/{id}/heat-balance', {
    role: 'operator',
    handle: async ({ context, params, body }) => fitCellHeatBalance(context, params.id, body),
  }),
  defineRoute('GET /cells/{id}/heat-balance', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await readCellHeatBalance(context, params.id);
      if (found === null) throw notFound('heat balance of cell', params.id);
      return found;
    },
  }),
];
