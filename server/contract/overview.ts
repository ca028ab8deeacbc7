import { z } from 'zod';

/** Counts along the way through the job, and what waits to be done. */
export const overview = z.object({
  counts: z.object({
    lots: z.int(),
    cells: z.int(),
    tests: z.int(),
    pairings: z.int(),
    stacks: z.int(),
    ageingSeries: z.int(),
    chargeStudies: z.int(),
    exports: z.int(),
  }),
  waiting: z.object({
    testsNotEvaluated: z.int(),
    evaluationsFailed: z.int(),
    /** Available cells without a capacity or without a resistance. */
    cellsWithoutNeededValue: z.int(),
    pairsToConfirm: z.int(),
    stacksToBuild: z.int(),
    stacksDueForCheckUp: z.int(),
    /** Stacks in use whose measured charges show that their cells drift apart. */
    stacksDrifting: z.int(),
    jobsRunning: z.int(),
    jobsFailed: z.int(),
  }),
  /** The newest lot, for a link that saves a click. */
  newestLotId: z.int().nullable(),
});

export type Overview = z.infer<typeof overview>;
