import { z } from 'zod';
import { id, instant, pageOf, pageQuery } from './common.ts';
import { importReport } from './import.ts';
import { quantityName } from './measurements.ts';

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
export type JobKind = z.infer<typeof jobKind>;
export const jobState = z.enum(['waiting', 'running', 'done', 'failed', 'cancelled']);

/** What evaluating the tests of a lot gave: how many, which were refused, and every value that is not what it was. */
export const lotEvaluated = z.object({
  evaluated: z.int(),
  failed: z.array(z.object({ testId: id, reason: z.string() })),
  compared: z.int(),
  changed: z.array(
    z.object({
      cellSerial: z.string(),
      testId: id,
      quantity: quantityName,
      durationS: z.number().nullable(),
      direction: z.enum(['charge', 'discharge']).nullable(),
      soc: z.number().nullable(),
      unit: z.string(),
      before: z.number().nullable(),
      after: z.number().nullable(),
    }),
  ),
});

/** What a job of each kind gives when it is done. */
export const jobResults = {
  import: z.object({ batch: z.string().optional(), reports: z.array(importReport) }),
  'evaluate-test': z.object({ fitId: id }),
  'evaluate-lot': lotEvaluated,
  pair: z.object({ pairingId: id }),
  'charge-study': z.object({ studyId: id }),
  'charge-log': z.object({ fitId: id }),
  ageing: z.object({ fitId: id, cells: z.int(), without: z.int() }),
  export: z.object({ exportId: id, fileName: z.string() }),
  backup: z.object({ file: z.string() }),
} as const satisfies Record<JobKind, z.ZodType>;

const ofEveryJob = {
  id,
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
  createdAt: instant,
  createdBy: z.string(),
  startedAt: instant.nullable(),
  finishedAt: instant.nullable(),
};

function jobOf<Kind extends JobKind>(kind: Kind) {
  return z.object({ ...ofEveryJob, kind: z.literal(kind), result: z.nullable(jobResults[kind]) });
}

/** A job; what it gives when it is done depends on its kind. */
export const job = z.discriminatedUnion('kind', [
  jobOf('import'),
  jobOf('evaluate-test'),
  jobOf('evaluate-lot'),
  jobOf('pair'),
  jobOf('charge-study'),
  jobOf('charge-log'),
  jobOf('ageing'),
  jobOf('export'),
  jobOf('backup'),
]);

export const jobQuery = pageQuery.extend({ state: jobState.optional(), kind: jobKind.optional() });
export const jobPage = pageOf(job);

export type JobState = z.infer<typeof jobState>;
export type Job = z.infer<typeof job>;
/** A job of one kind. */
export type JobOf<Kind extends JobKind> = Extract<Job, { kind: Kind }>;
export type LotEvaluated = z.infer<typeof lotEvaluated>;
/** What a job of a kind gives. */
export type JobResult<Kind extends JobKind = JobKind> = z.output<(typeof jobResults)[Kind]>;
