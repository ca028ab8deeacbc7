import { z } from 'zod';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { job, jobPage, jobQuery } from '../jobs.ts';

export const jobEndpoints = {
  'GET /jobs': {
    tag: 'Jobs',
    summary: 'Work in the background, newest first',
    query: jobQuery,
    answer: jobPage,
  },
  'GET /jobs/{id}': {
    tag: 'Jobs',
    summary: 'A job with its progress and its result',
    params: idParameter,
    answer: job,
  },
  'POST /jobs/{id}/cancel': {
    tag: 'Jobs',
    summary: 'Stop a job at its next step; what it had begun is undone',
    params: idParameter,
    answer: job,
  },
  'POST /jobs/{id}/retry': {
    tag: 'Jobs',
    summary: 'Let a job that failed or was cancelled start again',
    params: idParameter,
    answer: job,
  },
  'GET /jobs/{id}/events': {
    tag: 'Jobs',
    summary: 'The progress of a job as server-sent events named "job", until it has ended',
    params: idParameter,
    gives: 'text/event-stream',
  },
  'POST /lots/{id}/evaluate': {
    tag: 'Jobs',
    summary:
      'Evaluate the tests of a lot as a job; with `again` also those that were evaluated, and list what changed',
    params: idParameter,
    body: z.object({ again: z.boolean().default(false) }).strict(),
    answer: job,
    status: 202,
    idempotent: true,
  },
  'POST /backups': {
    tag: 'Jobs',
    summary: 'Copy the whole database, as of one moment, into the folder of backups beside it, as a job',
    body: z.strictObject({}),
    answer: job,
    status: 202,
    idempotent: true,
  },
} as const satisfies EndpointTable;
