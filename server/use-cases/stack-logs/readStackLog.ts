import type { Context } from '../../context.ts';
import type { StackLog, StackLogSeries } from '../../contract/stackLogs.ts';
import { notFound } from '../../errors.ts';
import { findStackLog, readStackLogValues } from '../../store/stackLogs.ts';

/** Rows that a drawing is given at most. */
const ROWS_DRAWN = 1200;

/** A stored log. @throws Refusal `not-found` */
export async function readStackLog(context: Context, id: number): Promise<StackLog> {
  const log = await findStackLog(context.store, id);
  if (log === null) throw notFound('stack log', id);
  return log;
}

/** The columns of a log with every n-th row, first and last included. @throws Refusal `not-found` */
export async function readStackLogSeries(context: Context, id: number): Promise<StackLogSeries> {
  const log = await readStackLog(context, id);
  const values = await readStackLogValues(context.store, log);
  const every = Math.max(1, Math.ceil(log.rowCount / ROWS_DRAWN));
  const thin = (column: Float64Array): number[] =>
    [...column].filter((_, row) => row % every === 0 || row === column.length - 1);
  const of = (role: string): number[] => thin(values.get(role) ?? new Float64Array(0));
  return {
    timeS: of('time'),
    columns: log.columns
      .filter(({ role }) => role !== 'time')
      .map(({ role, keptUnit }) => ({ role, unit: keptUnit, values: of(role) })),
  };
}
