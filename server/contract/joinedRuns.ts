import { z } from 'zod';
import { id } from './common.ts';

/** One of the runs that were evaluated together as one record. */
export const joinedRun = z.object({
  /** What distinguishes it from the others: `cycle 3`. */
  label: z.string(),
  /** The test it is stored as; null for a file that is evaluated without being stored. */
  testId: id.nullable(),
  /** First and last row in the record that they make together, counted from 0. */
  firstRow: z.int(),
  lastRow: z.int(),
  /** Time of its first row in that record. */
  startTimeS: z.number(),
});

/** How the runs of a file were put together to be evaluated as one record; null where there was one run alone. */
export const joinedRuns = z
  .object({
    /** `instants`: by the date and time that each begins with; `end-to-end`: a stated time after the run before. */
    follow: z.enum(['instants', 'end-to-end']),
    /** Null: as long as the rows lie apart where the run before ends. */
    gapS: z.number().nullable(),
    runs: z.array(joinedRun),
  })
  .nullable()
  .default(null);

export type JoinedRuns = NonNullable<z.infer<typeof joinedRuns>>;

/** Why runs are not one record: the cell was charged or discharged between them. */
export function brokenRunsReason(
  label: string,
  { beforeV, afterV }: { beforeV: number; afterV: number },
): string {
  return (
    `The run ${label} begins at ${afterV.toFixed(3)} V, while the run before it ended at ${beforeV.toFixed(3)} V and the ` +
    'current does not explain the difference: the cell was charged or discharged between them, so they are not one record'
  );
}
