import { z } from 'zod';
import { ageingSettings } from '../contract/ageingAssessment.ts';
import { id } from '../contract/common.ts';
import { createExport } from '../contract/exports.ts';
import { importOptions } from '../contract/import.ts';
import type { JobKind } from '../contract/jobs.ts';
import { createPairing } from '../contract/pairings.ts';

/** What a job of each kind is told; the worker reads it with the same schema that the queue was given it by. */
export const jobInputs = {
  import: z.object({
    batch: z.string(),
    files: z.array(
      z.object({
        /** Name as the sender knows it. */
        name: z.string(),
        path: z.string(),
        /** Removed when the import has ended: the copy of an upload. */
        temporary: z.boolean(),
      }),
    ),
    options: importOptions,
  }),
  'evaluate-test': z.object({ testId: id }),
  'evaluate-lot': z.object({ lotId: id, onlyNotEvaluated: z.boolean() }),
  pair: createPairing,
  'charge-study': z.object({ studyId: id }),
  ageing: z.object({ lotId: id, settings: ageingSettings }),
  export: createExport,
  backup: z.object({ file: z.string() }),
} as const satisfies Record<JobKind, z.ZodType>;

/** What a job of a kind is told, after its schema has read it. */
export type JobInput<Kind extends JobKind = JobKind> = z.output<(typeof jobInputs)[Kind]>;
