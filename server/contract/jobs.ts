import { z } from 'zod';
import { id, instant, pageOf, pageQuery } from './common.ts';

export const jobKind = z.enum([
  'import',
  'evaluate-test',
  'evaluate-lot',
  'pair',
  'charge-study',
  'charge-log',
  'ageing',
  'export',
  'backup',
]);
export const jobState = z.enum(['waiting', 'running', 'done', 'failed', 'cancelled']);

export const job = z.object({
  id,
  kind: jobKind,
  state: jobState,
  /** 0 to 1. */
  progress: z.number(),
  /** What is being done, e.g. "12 of 48 tests". */
  progressText: z.string(),
  /** Estimated time to the end while running, from the progress so far. */
  remainingS: z.number().nullable(),
  attempts: z.int(),
  error: z.string().nullable(),
  cancelRequested: z.boolean(),
  input: z.record(z.string(), z.unknown()),
  result: z.record(z.string(), z.unknown()).nullable(),
  createdAt: instant,
  createdBy: z.string(),
  startedAt: instant.nullable(),
  finishedAt: instant.nullable(),
});

export const jobQuery = pageQuery.extend({ state: jobState.optional(), kind: jobKind.optional() });
export const jobPage = pageOf(job);

export type JobKind = z.infer<typeof jobKind>;
export type JobState = z.infer<typeof jobState>;
export type Job = z.infer<typeof job>;
