import { readCellTypeChargeRates, readChemistryChargeRates } from '../use-cases/charging/readChargeRates.ts';
import { defineRoute, type Route } from './route.ts';

export const chargeRateRoutes: readonly Route[] = [
  defineRoute('GET /cell-types/{id}/charge-rates', {
    role: 'reader',
    handle: async ({ context, params }) => readCellTypeChargeRates(context, params.id),
  }),
  defineRoute('GET /chemistries/{id}/charge-rates', {
    role: 'reader',
    handle: async ({ context, params }) => readChemistryChargeRates(context, params.id),
  }),
];
