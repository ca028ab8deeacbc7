import { z } from 'zod';
import { idParameter } from '../contract/common.ts';
import { sweepList } from '../contract/impedance.ts';
import {
  changeTest as changeBody,
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
} from '../contract/tests.ts';
import { notFound } from '../errors.ts';
import { listTestFits } from '../store/fits.ts';
import { findTest, listSteps, pageTests } from '../store/tests.ts';
import { changeTest } from '../use-cases/evaluation/changeTest.ts';
import { evaluateTest } from '../use-cases/evaluation/evaluateTest.ts';
import { readEvaluation, readFit } from '../use-cases/evaluation/readEvaluation.ts';
import { readFittedPulse } from '../use-cases/evaluation/readFittedPulse.ts';
import { readSeries } from '../use-cases/evaluation/readSeries.ts';
import { readSweeps } from '../use-cases/evaluation/readSweeps.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Tests';

export const testRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/tests',
    tag,
    summary: 'Tests, newest first',
    role: 'reader',
    query: testQuery,
    answer: testPage,
    handle: async ({ context, query }) => pageTests(context.store, query),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}',
    tag,
    summary: 'A test: one run on one cell at a stated condition',
    role: 'reader',
    params: idParameter,
    answer: test,
    handle: async ({ context, params }) => {
      const found = await findTest(context.store, params.id);
      if (!found) throw notFound('test', params.id);
      return found;
    },
  }),
  defineRoute({
    method: 'patch',
    path: '/tests/{id}',
    tag,
    summary: 'Change what is known of a test: kind, condition, fixture, note',
    role: 'operator',
    params: idParameter,
    body: changeBody,
    answer: test,
    changesVersion: true,
    handle: async ({ context, params, body, version }) => changeTest(context, params.id, version, body),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/series',
    tag,
    summary:
      'The record for drawing: least and greatest value of each pixel, exact where few samples are left',
    role: 'reader',
    params: idParameter,
    query: seriesQuery,
    answer: series,
    handle: async ({ context, params, query }) => readSeries(context, params.id, query),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/sweeps',
    tag,
    summary: 'The impedance spectra of a test, every point as it was read; none where it has none',
    role: 'reader',
    params: idParameter,
    answer: sweepList,
    handle: async ({ context, params }) => readSweeps(context, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/steps',
    tag,
    summary: 'The steps of a test, as logged by the instrument and as found in the record',
    role: 'reader',
    params: idParameter,
    answer: testStepList,
    handle: async ({ context, params }) => {
      if (!(await findTest(context.store, params.id))) throw notFound('test', params.id);
      return { items: await listSteps(context.store, params.id) };
    },
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/evaluation',
    tag,
    summary: 'The valid evaluation of a test',
    role: 'reader',
    params: idParameter,
    answer: evaluation,
    handle: async ({ context, params }) => readEvaluation(context, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/pulses/{index}/fitted',
    tag,
    summary: 'Measured and fitted voltage of one pulse and their difference, for drawing',
    role: 'reader',
    params: idParameter.extend({ index: z.coerce.number().int().min(0) }),
    answer: fittedPulse,
    handle: async ({ context, params }) => readFittedPulse(context, params.id, params.index),
  }),
  defineRoute({
    method: 'get',
    path: '/tests/{id}/evaluations',
    tag,
    summary: 'Every evaluation a test ever had, newest first',
    role: 'reader',
    params: idParameter,
    answer: evaluationHistory,
    handle: async ({ context, params }) => {
      if (!(await findTest(context.store, params.id))) throw notFound('test', params.id);
      return { items: await listTestFits(context.store, params.id) };
    },
  }),
  defineRoute({
    method: 'post',
    path: '/tests/{id}/evaluate',
    tag,
    summary: 'Evaluate a test again; the earlier evaluation is superseded and kept',
    role: 'operator',
    params: idParameter,
    body: evaluationSettings,
    answer: evaluation,
    handle: async ({ context, params, body }) => evaluateTest(context, params.id, body),
  }),
  defineRoute({
    method: 'get',
    path: '/fits/{id}',
    tag,
    summary: 'An evaluation by its fit, also a superseded one',
    role: 'reader',
    params: idParameter,
    answer: evaluation,
    handle: async ({ context, params }) => readFit(context, params.id),
  }),
];
