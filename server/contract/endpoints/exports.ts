import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import {
  createExport,
  exportEntry,
  exportPage,
  exportQuery,
  parameterSetParameters,
  parameterSetQuery,
} from '../exports.ts';
import { job } from '../jobs.ts';
import { parameterOrigin, parameterSet } from '../parameterSet.ts';

export const exportEndpoints = {
  'GET /exports': {
    tag: 'Exports',
    summary: 'Files exported earlier, newest first',
    query: exportQuery,
    answer: exportPage,
  },
  'POST /exports': {
    tag: 'Exports',
    summary: 'Write parameters, a record or a planned charge in a format of another tool, and record it',
    body: createExport,
    answer: exportEntry,
    status: 201,
    idempotent: true,
  },
  'POST /exports/background': {
    tag: 'Exports',
    summary: 'The same as a job, for a lot or a record that takes long; its result names the export',
    body: createExport,
    answer: job,
    status: 202,
    idempotent: true,
  },
  'GET /exports/{id}': {
    tag: 'Exports',
    summary: 'Who had what written when, and the hash of its bytes',
    params: idParameter,
    answer: exportEntry,
  },
  'GET /exports/{id}/file': {
    tag: 'Exports',
    summary: 'The bytes of an export',
    params: idParameter,
    gives: 'application/octet-stream',
  },
  'GET /parameter-sets/{kind}/{id}': {
    tag: 'Exports',
    summary:
      'The parameter set of a cell, pair, stack, lot, pairing or cell type, as an export would hold it now',
    params: parameterSetParameters,
    query: parameterSetQuery,
    answer: parameterSet,
  },
  'GET /parameter-sets/{kind}/{id}/origin': {
    tag: 'Exports',
    summary: 'Where the numbers of a parameter set came from: fits, tests, files with their hashes',
    params: parameterSetParameters,
    answer: parameterOrigin,
  },
} as const satisfies EndpointTable;
