import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { cellHeatBalance, fitHeatBalanceRequest } from '../heatBalance.ts';

export const heatBalanceEndpoints = {
  'POST /tests/{id}/heat-balance': {
    tag: 'Tests',
    summary:
      'Fit heat capacity and heat transfer of the cell from a charge with temperature; the cell type stays as it is',
    params: idParameter,
    body: fitHeatBalanceRequest,
    answer: cellHeatBalance,
  },
  'GET /cells/{id}/heat-balance': {
    tag: 'Tests',
    summary: 'The heat balance fitted from a test of the cell, with what takes it over into the cell type',
    params: idParameter,
    answer: cellHeatBalance,
  },
} as const satisfies EndpointTable;
