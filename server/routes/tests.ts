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

export const testRoutes: readonly Route[] = [
  defineRoute('GET /tests', {
    role: 'reader',
    handle: async ({ context, query }) => pageTests(context.store, query),
  }),
  defineRoute('GET /tests/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findTest(context.store, params.id);
      if (!found) throw notFound('test', params.id);
      return found;
    },
  }),
  defineRoute('PATCH /tests/{id}', {
    role: 'operator',
    handle: async ({ context, params, body, version }) => changeTest(context, params.id, version, body),
  }),
  defineRoute('GET /tests/{id}/series', {
    role: 'reader',
    handle: async ({ context, params, query }) => readSeries(context, params.id, query),
  }),
  defineRoute('GET /tests/{id}/sweeps', {
    role: 'reader',
    handle: async ({ context, params }) => readSweeps(context, params.id),
  }),
  defineRoute('GET /tests/{id}/steps', {
    role: 'reader',
    handle: async ({ context, params }) => {
      if (!(await findTest(context.store, params.id))) throw notFound('test', params.id);
      return { items: await listSteps(context.store, params.id) };
    },
  }),
  defineRoute('GET /tests/{id}/evaluation', {
    role: 'reader',
    handle: async ({ context, params }) => readEvaluation(context, params.id),
  }),
  defineRoute('GET /tests/{id}/pulses/{index}/fitted', {
    role: 'reader',
    handle: async ({ context, params }) => readFittedPulse(context, params.id, params.index),
  }),
  defineRoute('GET /tests/{id}/evaluations', {
    role: 'reader',
    handle: async ({ context, params }) => {
      if (!(await findTest(context.store, params.id))) throw notFound('test', params.id);
      return { items: await listTestFits(context.store, params.id) };
    },
  }),
  defineRoute('POST /tests/{id}/evaluate', {
    role: 'operator',
    handle: async ({ context, params, body }) => evaluateTest(context, params.id, body),
  }),
  defineRoute('GET /fits/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => readFit(context, params.id),
  }),
];
