import { chargeRates } from '../contract/chargeRates.ts';
import { idParameter } from '../contract/common.ts';
import { readCellTypeChargeRates, readChemistryChargeRates } from '../use-cases/charging/readChargeRates.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Cell types';

export const chargeRateRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/cell-types/{id}/charge-rates',
    tag,
    summary:
      'Recommended charge rates against temperature and resistance growth: from a fitted cell, or by common practice',
    role: 'reader',
    params: idParameter,
    answer: chargeRates,
    handle: async ({ context, params }) => readCellTypeChargeRates(context, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/chemistries/{id}/charge-rates',
    tag,
    summary: 'Charge rates of a chemistry in general, by common practice',
    role: 'reader',
    params: idParameter,
    answer: chargeRates,
    handle: async ({ context, params }) => readChemistryChargeRates(context, params.id),
  }),
];
