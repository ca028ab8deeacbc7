import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import {
  createSupplyPart,
  operatingPointList,
  operatingPointQuery,
  supplyPart,
  supplyPartList,
  supplyPartQuery,
} from '../supplyParts.ts';

export const supplyPartEndpoints = {
  'GET /supply-parts': {
    tag: 'Charge studies',
    summary: 'Converters, cables and sources that studies pick by name',
    query: supplyPartQuery,
    answer: supplyPartList,
  },
  'POST /supply-parts': {
    tag: 'Charge studies',
    summary: 'Keep a converter, cable or source; under a name that is there, as its next revision',
    body: createSupplyPart,
    answer: supplyPart,
    status: 201,
    idempotent: true,
  },
  'GET /supply-parts/{id}': {
    tag: 'Charge studies',
    summary: 'A converter, cable or source with what was measured of it; earlier revisions too',
    params: idParameter,
    answer: supplyPart,
  },
  'DELETE /supply-parts/{id}': {
    tag: 'Charge studies',
    summary: 'Take a part off the list; studies that used it keep what it said',
    params: idParameter,
  },
  'POST /operating-points': {
    tag: 'Charge studies',
    summary: 'Read a table of operating points of a converter (CSV or spreadsheet); nothing is stored',
    query: operatingPointQuery,
    takes: ['text/csv', 'application/octet-stream'],
    gives: 'application/json',
    answer: operatingPointList,
  },
} as const satisfies EndpointTable;
