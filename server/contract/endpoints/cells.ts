import {
  attachmentList,
  cell,
  cellListQuery,
  cellPage,
  changeCell,
  createCell,
  createNote,
  history,
} from '../cells.ts';
import { cellTables, cellTablesQuery } from '../cellTables.ts';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import {
  changeMeasurement,
  measurement,
  measurementPage,
  measurementQuery,
  provenance,
} from '../measurements.ts';
import { keepPicture } from './keepPicture.ts';

export const cellEndpoints = {
  'GET /cells': {
    tag: 'Cells',
    summary: 'Cells across lots, by serial',
    query: cellListQuery,
    answer: cellPage,
  },
  'POST /cells': {
    tag: 'Cells',
    summary: 'Add a cell to a lot',
    body: createCell,
    answer: cell,
    status: 201,
    idempotent: true,
  },
  'GET /cells/{id}': {
    tag: 'Cells',
    summary: 'A cell',
    params: idParameter,
    answer: cell,
  },
  'PATCH /cells/{id}': {
    tag: 'Cells',
    summary: 'Set a cell aside, take it back, retire it, or change its note',
    params: idParameter,
    body: changeCell,
    answer: cell,
    changesVersion: true,
  },
  'GET /cells/{id}/measurements': {
    tag: 'Cells',
    summary: 'What was measured of a cell, with conditions and uncertainties',
    params: idParameter,
    query: measurementQuery,
    answer: measurementPage,
  },
  'PATCH /measurements/{id}': {
    tag: 'Cells',
    summary: 'Let a measurement count that was marked as one that cannot be, or leave one out with a reason',
    params: idParameter,
    body: changeMeasurement,
    answer: measurement,
  },
  'GET /measurements/{id}/origin': {
    tag: 'Cells',
    summary: 'Where a number came from: fit, test, rows, file, who and when',
    params: idParameter,
    answer: provenance,
  },
  'GET /cells/{id}/tables': {
    tag: 'Cells',
    summary:
      'The circuit parameters of a cell over SOC and temperature, with flags outside what was measured',
    params: idParameter,
    query: cellTablesQuery,
    answer: cellTables,
  },
  'GET /cells/{id}/history': {
    tag: 'Cells',
    summary: 'Everything that happened to a cell, newest first',
    params: idParameter,
    answer: history,
  },
  'GET /cells/{id}/notes': {
    tag: 'Cells',
    summary: 'Notes and pictures kept with a cell',
    params: idParameter,
    answer: attachmentList,
  },
  'POST /cells/{id}/notes': {
    tag: 'Cells',
    summary: 'Keep a note with a cell',
    params: idParameter,
    body: createNote,
    answer: attachmentList,
    status: 201,
    idempotent: true,
  },
  'POST /cells/{id}/pictures': { tag: 'Cells', ...keepPicture },
  'GET /attachments/{id}/content': {
    tag: 'Cells',
    summary: 'The bytes of a picture',
    params: idParameter,
    gives: 'image/*',
  },
} as const satisfies EndpointTable;
