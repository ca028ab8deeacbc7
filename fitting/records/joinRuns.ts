import type { RecordColumns, RowRange } from './record.ts';

/** A run within the record that several make together, and what was added to its own times. */
export interface JoinedRun extends RowRange {
  readonly offsetS: number;
}

/**
 * Puts runs one after another as one record: a run begins at its own instant where all have one, and else a given time
 * after the last row of the run before; where none is given, as long after it as the rows lie apart there, so that when
 * the current changed between them stays open. Temperature and step numbers are kept where every run has them.
 *
 * @param runs each with times that do not decrease, and with the instant of its time zero in seconds, where known
 * @param gapS time from the last row of a run to the first of the next, where instants do not say it; null: as above
 * @throws RangeError where there is no run or one is empty
 */
export function joinRuns(
  runs: readonly { readonly columns: RecordColumns; readonly startsAtS: number | null }[],
  gapS: number | null,
): { columns: RecordColumns; runs: readonly JoinedRun[]; byInstants: boolean } {
  if (runs.length === 0 || runs.some(({ columns }) => columns.timeS.length === 0))
    throw new RangeError('Runs that are put together need at least one row each');
  const byInstants = runs.every(({ startsAtS }) => startsAtS !== null);
  const joined: JoinedRun[] = [];
  let rows = 0;
  let lastS = 0;
  for (const [k, { columns, startsAtS }] of runs.entries()) {
    const { timeS } = columns;
    const after = k === 0 ? 0 : lastS + (gapS ?? rowInterval(runs[k - 1].columns.timeS, timeS)) - timeS[0];
    const instant = byInstants ? (startsAtS as number) - (runs[0].startsAtS as number) : after;
    // An instant in whole seconds may lie a little before the last row.
    const offsetS = k === 0 ? 0 : Math.max(instant, lastS - timeS[0]);
    joined.push({ start: rows, end: rows + timeS.length, offsetS });
    rows += timeS.length;
    lastS = offsetS + timeS[timeS.length - 1];
  }
  const column = (name: 'voltageV' | 'currentA' | 'temperatureC' | 'step'): Float64Array | undefined => {
    if (runs.some(({ columns }) => columns[name] === undefined)) return undefined;
    const values = new Float64Array(rows);
    runs.forEach(({ columns }, k) => {
      values.set(columns[name] as Float64Array, joined[k].start);
    });
    return values;
  };
  const timeS = new Float64Array(rows);
  runs.forEach(({ columns }, k) => {
    const { start, offsetS } = joined[k];
    columns.timeS.forEach((time, i) => {
      timeS[start + i] = offsetS + time;
    });
  });
  const [temperatureC, step] = [column('temperatureC'), column('step')];
  return {
    columns: {
      timeS,
      voltageV: column('voltageV') as Float64Array,
      currentA: column('currentA') as Float64Array,
      ...(temperatureC === undefined ? {} : { temperatureC }),
      ...(step === undefined ? {} : { step }),
    },
    runs: joined,
    byInstants,
  };
}

/** How far rows lie apart where one run ends and another begins: the last interval of the one, or the first of the other. */
function rowInterval(before: Float64Array, after: Float64Array): number {
  if (before.length > 1) return before[before.length - 1] - before[before.length - 2];
  return after.length > 1 ? after[1] - after[0] : 0;
}
