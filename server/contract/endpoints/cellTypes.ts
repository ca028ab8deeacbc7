import { cellType, cellTypePage, changeCellType, createCellType } from '../cellTypes.ts';
import { chargeRates } from '../chargeRates.ts';
import { chemistry, chemistryList, createChemistry } from '../chemistries.ts';
import { idParameter, pageQuery } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { cellTypeTemperature } from '../temperature.ts';

export const cellTypeEndpoints = {
  'GET /chemistries': {
    tag: 'Cell types',
    summary: 'All chemistries with their general defaults',
    answer: chemistryList,
  },
  'POST /chemistries': {
    tag: 'Cell types',
    summary: 'Add a chemistry',
    body: createChemistry,
    answer: chemistry,
    status: 201,
    idempotent: true,
  },
  'GET /cell-types': {
    tag: 'Cell types',
    summary: 'Cell types by name',
    query: pageQuery,
    answer: cellTypePage,
  },
  'POST /cell-types': {
    tag: 'Cell types',
    summary: 'Add a cell type with its datasheet limits',
    body: createCellType,
    answer: cellType,
    status: 201,
    idempotent: true,
  },
  'GET /cell-types/{id}': {
    tag: 'Cell types',
    summary: 'A cell type with the limits that hold for it',
    params: idParameter,
    answer: cellType,
  },
  'PATCH /cell-types/{id}': {
    tag: 'Cell types',
    summary: 'Change a cell type',
    params: idParameter,
    body: changeCellType,
    answer: cellType,
    changesVersion: true,
  },
  'GET /cell-types/{id}/charge-rates': {
    tag: 'Cell types',
    summary:
      'Recommended charge rates against temperature and resistance growth: from a fitted cell, or by common practice',
    params: idParameter,
    answer: chargeRates,
  },
  'GET /chemistries/{id}/charge-rates': {
    tag: 'Cell types',
    summary: 'Charge rates of a chemistry in general, by common practice',
    params: idParameter,
    answer: chargeRates,
  },
  'POST /cell-types/{id}/temperature': {
    tag: 'Cell types',
    summary: 'Assess how the resistances of a cell type depend on temperature; the earlier fit is superseded',
    params: idParameter,
    answer: cellTypeTemperature,
    status: 201,
  },
  'GET /cell-types/{id}/temperature': {
    tag: 'Cell types',
    summary: 'How the resistances of a cell type depend on temperature; null where it was not assessed',
    params: idParameter,
    answer: cellTypeTemperature.nullable(),
  },
} as const satisfies EndpointTable;
