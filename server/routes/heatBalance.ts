import { idParameter } from '../contract/common.ts';
import { cellHeatBalance, fitHeatBalanceRequest } from '../contract/heatBalance.ts';
import { notFound } from '../errors.ts';
import { fitCellHeatBalance } from '../use-cases/charging/fitCellHeatBalance.ts';
import { readCellHeatBalance } from '../use-cases/charging/readHeatBalance.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Tests';

export const heatBalanceRoutes: readonly Route[] = [
  defineRoute({
    method: 'post',
    path: '/tests/{id}/heat-balance',
    tag,
    summary:
      'Fit heat capacity and heat transfer of the cell from a charge with temperature; the cell type stays as it is',
    role: 'operator',
    params: idParameter,
    body: fitHeatBalanceRequest,
    answer: cellHeatBalance,
    handle: async ({ context, params, body }) => fitCellHeatBalance(context, params.id, body),
  }),
  defineRoute({
    method: 'get',
    path: '/cells/{id}/heat-balance',
    tag,
    summary: 'The heat balance fitted from a test of the cell, with what takes it over into the cell type',
    role: 'reader',
    params: idParameter,
    answer: cellHeatBalance,
    handle: async ({ context, params }) => {
      const found = await readCellHeatBalance(context, params.id);
      if (found === null) throw notFound('heat balance of cell', params.id);
      return found;
    },
  }),
];
