import { z } from 'zod';
import { ageingSettings } from '../contract/ageingAssessment.ts';
import { id } from '../contract/common.ts';
import { createExport } from '../contract/exports.ts';
import { importOptions } from '../contract/import.ts';
import type { JobKind } from '../contract/jobs.ts';
import { createPairing } from '../contract/pairings.ts';
import { evaluateStackLogs } from '../contract/stackLogEvaluations.ts';

const fileOnDisk = z.object({
  /** Name as the sender knows it. */
  name: z.string(),
  path: z.string(),
  /** Removed when the import has ended: the copy of an upload. */
  temporary: z.boolean(),
});

/** An upload that waits in the database, where a worker of any machine reads it; removed when the import has ended. */
const fileInDatabase = z.object({ name: z.string(), uploadId: z.string() });

/** The input of each kind of job; queue and worker read it with the same schema. */
export const jobInputs = {
  import: z.object({
    batch: z.string(),
    files: z.array(z.union([fileOnDisk, fileInDatabase])),
    options: importOptions,
  }),
  'evaluate-test': z.object({ testId: id }),
  'evaluate-lot': z.object({ lotId: id, onlyNotEvaluated: z.boolean() }),
  pair: createPairing,
  'charge-study': z.object({ studyId: id }),
  'charge-log': evaluateStackLogs,
  ageing: z.object({ lotId: id, settings: ageingSettings }),
  export: createExport,
  backup: z.object({ file: z.string() }),
} as const satisfies Record<JobKind, z.ZodType>;

/** The input of a job of a kind, as its schema reads it. */
export type JobInput<Kind extends JobKind = JobKind> = z.output<(typeof jobInputs)[Kind]>;
