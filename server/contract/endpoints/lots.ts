import { cellQuery, cellRowPage } from '../cells.ts';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { gaugeQuery, gaugeStudy } from '../gauge.ts';
import { lotLine, lotLineQuery } from '../lotLine.ts';
import {
  changeLot,
  createLot,
  lot,
  lotColumns,
  lotPage,
  lotQuery,
  lotStatistics,
  lotStatisticsQuery,
  warningSignList,
} from '../lots.ts';

export const lotEndpoints = {
  'GET /lots': {
    tag: 'Lots',
    summary: 'Lots, newest first',
    query: lotQuery,
    answer: lotPage,
  },
  'POST /lots': {
    tag: 'Lots',
    summary: 'Add a lot: one delivery of one cell type',
    body: createLot,
    answer: lot,
    status: 201,
    idempotent: true,
  },
  'GET /lots/{id}': {
    tag: 'Lots',
    summary: 'A lot with its counts',
    params: idParameter,
    answer: lot,
  },
  'PATCH /lots/{id}': {
    tag: 'Lots',
    summary: 'Change a lot',
    params: idParameter,
    body: changeLot,
    answer: lot,
    changesVersion: true,
  },
  'DELETE /lots/{id}': {
    tag: 'Lots',
    summary: 'Remove a lot that holds no cells',
    params: idParameter,
    changesVersion: true,
  },
  'GET /lots/{id}/columns': {
    tag: 'Lots',
    summary: 'What can be compared between the cells of a lot',
    params: idParameter,
    answer: lotColumns,
  },
  'GET /lots/{id}/cells': {
    tag: 'Lots',
    summary: 'The cells of a lot with their present values, sorted and filtered',
    params: idParameter,
    query: cellQuery,
    answer: cellRowPage,
  },
  'GET /lots/{id}/statistics': {
    tag: 'Lots',
    summary: 'Spread, outliers, normality and capability of a lot',
    params: idParameter,
    query: lotStatisticsQuery,
    answer: lotStatistics,
  },
  'GET /lots/{id}/warnings': {
    tag: 'Lots',
    summary: 'Cells with a warning sign, which are never offered for pairing',
    params: idParameter,
    answer: warningSignList,
  },
  'GET /lots/{id}/gauge': {
    tag: 'Lots',
    summary:
      'Whether fixture and instrument can tell the cells of a lot apart, from repeated tests of the same cells',
    params: idParameter,
    query: gaugeQuery,
    answer: gaugeStudy,
  },
  'GET /lots/{id}/line': {
    tag: 'Lots',
    summary: 'The straight line between two quantities of the cells of a lot, with errors in both',
    params: idParameter,
    query: lotLineQuery,
    answer: lotLine,
  },
} as const satisfies EndpointTable;
