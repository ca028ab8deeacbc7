import { z } from 'zod';
import { id, instant, pageOf, pageQuery } from './common.ts';

/** A column of a stack log as it was taken from its file. */
export const stackLogColumn = z.object({
  role: z.string().describe('time, stack-current, cell-voltage-1 …'),
  source: z.string(),
  /** Unit of the file; values are kept in s, V, A and °C. */
  unit: z.string(),
  unitFrom: z.enum(['header', 'units-row', 'given', 'assumed']),
  keptUnit: z.string(),
});
export type StackLogColumn = z.infer<typeof stackLogColumn>;

/** A measured charge of a stack. */
export const stackLog = z.object({
  id,
  stackId: id,
  stackName: z.string(),
  label: z.string(),
  /** `undone`: its import was taken back; it is shown but takes part in nothing. */
  state: z.enum(['sealed', 'undone']),
  startedAt: instant.nullable(),
  /** Cycles and equivalent full cycles that the stack had behind it. */
  cycle: z.number().nullable(),
  efc: z.number().nullable(),
  rowCount: z.int(),
  durationS: z.number(),
  /** Mean of the log, or what was stated where it has no such column. */
  ambientTemperatureC: z.number(),
  columns: z.array(stackLogColumn),
  /** Cells in series order, as they were in the stack when it was logged. */
  cells: z.array(z.object({ cellId: id, serial: z.string() })),
  warnings: z.array(z.string()),
  sourceFileId: id,
  fileName: z.string(),
  sourceRowFirst: z.int(),
  sourceRowLast: z.int(),
  createdAt: instant,
});
export type StackLog = z.infer<typeof stackLog>;
export const stackLogPage = pageOf(stackLog);
export const stackLogQuery = pageQuery.extend({ stackId: z.coerce.number().int().positive().optional() });

/** Columns of a log, thinned for drawing: every value is one of the file's. */
export const stackLogSeries = z.object({
  timeS: z.array(z.number()),
  columns: z.array(z.object({ role: z.string(), unit: z.string(), values: z.array(z.number()) })),
});
export type StackLogSeries = z.infer<typeof stackLogSeries>;
