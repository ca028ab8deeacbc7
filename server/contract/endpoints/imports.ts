import { idParameter } from '../common.ts';
import { type EndpointTable, idempotencyKeyText } from '../endpoint.ts';
import {
  importConsequences,
  importPage,
  importPreview,
  importQuery,
  storedImport,
  uploadQuery,
} from '../import.ts';
import { job } from '../jobs.ts';

const takes = ['text/csv', 'multipart/form-data', 'application/gzip', 'application/octet-stream'] as const;
const fileHeaders = {
  'X-File-Name': 'Name of the file that is the body, percent-encoded; the address may say it as `name`',
  'X-Import-Options': 'Options of the import as a JSON object, percent-encoded; they outrank the address',
} as const;

export const importEndpoints = {
  'GET /imports': {
    tag: 'Imports',
    summary: 'Files that were offered, newest first, without the bulk of their reports',
    query: importQuery,
    answer: importPage,
  },
  'GET /imports/{id}': {
    tag: 'Imports',
    summary: 'The report of a file that was offered',
    params: idParameter,
    answer: storedImport,
  },
  'POST /imports': {
    tag: 'Imports',
    summary: 'Send files of any size; a job takes each of them whole or not at all',
    query: uploadQuery,
    headers: {
      ...fileHeaders,
      'X-Import-Batch': 'A name that files sent one by one share, so that they are listed together',
      'Idempotency-Key': idempotencyKeyText,
    },
    takes,
    gives: 'application/json',
    answer: job,
    status: 202,
  },
  'POST /imports/preview': {
    tag: 'Imports',
    summary: 'What an import would make of a file; its first 4 MiB are enough, and nothing is stored',
    query: uploadQuery,
    headers: fileHeaders,
    takes,
    gives: 'application/json',
    answer: importPreview,
  },
  'GET /imports/{id}/consequences': {
    tag: 'Imports',
    summary: 'What undoing an import would touch: cells, pairings, stacks, charge studies, exports',
    params: idParameter,
    answer: importConsequences,
  },
  'POST /imports/{id}/restore': {
    tag: 'Imports',
    summary: 'Take the undoing of an import back, within a day and where no cell was removed by it',
    params: idParameter,
    answer: storedImport,
  },
  'POST /imports/{id}/undo': {
    tag: 'Imports',
    summary:
      'Take an import back: its tests and results, and the cells it created unless something else uses them',
    params: idParameter,
    answer: storedImport,
  },
} as const satisfies EndpointTable;
