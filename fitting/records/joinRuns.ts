import { gapBefore } from './gaps.ts';
import type { RecordColumns, RowRange } from './record.ts';

/** A run within the record that several make together, and what was added to its own times. */
export interface JoinedRun extends RowRange {
  readonly offsetS: number;
}

/** Where a run does not continue the one before it: its place, and the voltages on both sides. */
export interface RunBreak {
  readonly run: number;
  readonly beforeV: number;
  readonly afterV: number;
}

/** Largest change of the voltage from row to row that nothing but rest or a steady load explains, in V. Common practice, no source. */
const STEADY_V = 0.05;
/** Largest change that a change of the current explains where no run shows one, in V. Common practice, no source. */
const STEP_V = 0.3;
/** How many times the largest resistance that a step within a run shows the change between two runs may represent. */
const STEP_RATIO = 3;
/** Share of the largest current that counts as a change of the current. */
const CHANGED = 0.02;
/** Share of the largest current from which a step within a run shows a resistance. */
const TELLING_STEP = 0.1;

/**
 * Puts runs one after another as one record: a run begins at its own instant where all have one, and else a given time
 * after the last row of the run before; where none is given, as long after it as the rows lie apart there, so that when
 * the current changed between them stays open. Temperature and step numbers are kept where every run has them.
 *
 * @param runs each with times that do not decrease, and with the instant of its time zero in seconds, where known
 * @param gapS time from the last row of a run to the first of the next, where instants do not say it; null: as above
 * @returns the record, where each run lies in it, and the first run that does not continue the one before
 * @throws RangeError where there is no run or one is empty
 */
export function joinRuns(
  runs: readonly { readonly columns: RecordColumns; readonly startsAtS: number | null }[],
  gapS: number | null,
): { columns: RecordColumns; runs: readonly JoinedRun[]; byInstants: boolean; broken: RunBreak | null } {
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
  const joinedColumns: RecordColumns = {
    timeS,
    voltageV: column('voltageV') as Float64Array,
    currentA: column('currentA') as Float64Array,
    ...(temperatureC === undefined ? {} : { temperatureC }),
    ...(step === undefined ? {} : { step }),
  };
  return { columns: joinedColumns, runs: joined, byInstants, broken: findBreak(joinedColumns, joined) };
}

/**
 * The first run that follows the one before without a gap and cannot continue it: the voltage changes although the current
 * does not, against the current, or by more than the steps within the runs let a change of the current make of it.
 * Between such runs the cell was charged or discharged.
 */
function findBreak(record: RecordColumns, runs: readonly JoinedRun[]): RunBreak | null {
  const { timeS, voltageV, currentA } = record;
  const largestA = currentA.reduce((most, current) => Math.max(most, Math.abs(current)), 0);
  const stepOhm = largestStepOhm(record, runs, TELLING_STEP * largestA);
  const run = runs.findIndex(({ start }, k) => {
    if (k === 0 || gapBefore(timeS, start) > 0) return false;
    const changeV = voltageV[start] - voltageV[start - 1];
    const changeA = currentA[start] - currentA[start - 1];
    if (Math.abs(changeA) <= CHANGED * largestA) return Math.abs(changeV) > STEADY_V;
    const along = changeV * Math.sign(changeA);
    const explainedV = stepOhm === null ? STEP_V : STEP_RATIO * stepOhm * Math.abs(changeA) + STEADY_V;
    return along < -STEADY_V || along > explainedV;
  });
  if (run < 0) return null;
  const { start } = runs[run];
  return { run, beforeV: voltageV[start - 1], afterV: voltageV[start] };
}

/** The largest resistance in ohm that a step of the current of at least `stepA` within a run shows; null: no such step. */
function largestStepOhm(
  { voltageV, currentA }: RecordColumns,
  runs: readonly JoinedRun[],
  stepA: number,
): number | null {
  let largest: number | null = null;
  for (const { start, end } of runs)
    for (let row = start + 1; row < end; row++) {
      const changeA = currentA[row] - currentA[row - 1];
      if (stepA === 0 || Math.abs(changeA) < stepA) continue;
      largest = Math.max(largest ?? 0, (voltageV[row] - voltageV[row - 1]) / changeA);
    }
  return largest;
}

/** How far rows lie apart where one run ends and another begins: the last interval of the one, or the first of the other. */
function rowInterval(before: Float64Array, after: Float64Array): number {
  if (before.length > 1) return before[before.length - 1] - before[before.length - 2];
  return after.length > 1 ? after[1] - after[0] : 0;
}
