import { z } from 'zod';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { sweepList } from '../impedance.ts';
import { pulseLimits, pulseLimitsQuery } from '../pulseLimits.ts';
import {
  changeTest,
  evaluation,
  evaluationHistory,
  evaluationSettings,
  fittedPulse,
  series,
  seriesQuery,
  test,
  testPage,
  testQuery,
  testStepList,
} from '../tests.ts';

export const testEndpoints = {
  'GET /tests': {
    tag: 'Tests',
    summary: 'Tests, newest first',
    query: testQuery,
    answer: testPage,
  },
  'GET /tests/{id}': {
    tag: 'Tests',
    summary: 'A test: one run on one cell at a stated condition',
    params: idParameter,
    answer: test,
  },
  'PATCH /tests/{id}': {
    tag: 'Tests',
    summary: 'Change what is known of a test: kind, condition, fixture, note',
    params: idParameter,
    body: changeTest,
    answer: test,
    changesVersion: true,
  },
  'GET /tests/{id}/series': {
    tag: 'Tests',
    summary:
      'The record for drawing: least and greatest value of each pixel, exact where few samples are left',
    params: idParameter,
    query: seriesQuery,
    answer: series,
  },
  'GET /tests/{id}/sweeps': {
    tag: 'Tests',
    summary: 'The impedance spectra of a test, every point as it was read; none where it has none',
    params: idParameter,
    answer: sweepList,
  },
  'GET /tests/{id}/steps': {
    tag: 'Tests',
    summary: 'The steps of a test, as logged by the instrument and as found in the record',
    params: idParameter,
    answer: testStepList,
  },
  'GET /tests/{id}/evaluation': {
    tag: 'Tests',
    summary: 'The valid evaluation of a test',
    params: idParameter,
    answer: evaluation,
  },
  'GET /tests/{id}/pulses/{index}/fitted': {
    tag: 'Tests',
    summary: 'Measured and fitted voltage of one pulse and their difference, for drawing',
    params: idParameter.extend({ index: z.coerce.number().int().min(0) }),
    answer: fittedPulse,
  },
  'GET /tests/{id}/evaluations': {
    tag: 'Tests',
    summary: 'Every evaluation a test ever had, newest first',
    params: idParameter,
    answer: evaluationHistory,
  },
  'POST /tests/{id}/evaluate': {
    tag: 'Tests',
    summary: 'Evaluate a test again; the earlier evaluation is superseded and kept',
    params: idParameter,
    body: evaluationSettings,
    answer: evaluation,
  },
  'GET /fits/{id}': {
    tag: 'Tests',
    summary: 'An evaluation by its fit, also a superseded one',
    params: idParameter,
    answer: evaluation,
  },
  'GET /tests/{id}/pulse-limits': {
    tag: 'Tests',
    summary:
      'The largest pulse currents by an evaluated pulse test, under voltage limits, ratings and an SOC window',
    params: idParameter,
    query: pulseLimitsQuery,
    answer: pulseLimits,
  },
} as const satisfies EndpointTable;
