import type { Pulse, RecordColumns, StepFinding } from '../../records/index.ts';
import { lineThroughRows } from '../../records/index.ts';

/**
 * What earlier currents still do at a pulse's beginning. `settled`: nothing that shows; `relaxing`: the voltage is
 * still on its way, and the rows before the pulse show how; `unknown`: too few rows to tell.
 */
export type PastOfPulse = 'settled' | 'relaxing' | 'unknown';

/** The rows before a pulse that count for its circuit. */
export interface BasePart {
  readonly start: number;
  readonly past: PastOfPulse;
  /** How fast the voltage moves over a long rest, as far as its rows tell; null where they are too few, or a current has just ended. */
  readonly rate: BaseRate | null;
}

/** A rate of the voltage with its standard error, in V per s. */
export interface BaseRate {
  readonly slopeVPerS: number;
  readonly standardErrorVPerS: number;
}

/** An earlier current is looked for within this time, however flat the rest. */
const RECENT_S = 300;
/** Rows of a settled rest that count. */
const SETTLED_BASE_S = 30;
/** Fewer rows than this say nothing of a rest's course. */
const FEWEST_ROWS = 6;
/** Standard errors by which a rest's slope must differ from 0 to be one. */
const DRIFTS = 3;

/**
 * Which rows before a pulse count. After a settled rest the last 30 s; where the voltage is still on its way the whole
 * step before the pulse, up to twice the time that the pulse and its relaxation take.
 *
 * @param skipS time after the edge before the base whose rows have not settled
 * @param spanS time from the pulse's beginning to the end of its window
 */
export function basePart(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  skipS: number,
  spanS: number,
): BasePart {
  const { timeS } = record;
  const { steps } = finding;
  const base = steps[pulse.baseStep];
  const last = pulse.start - 1;
  const first = firstSettled(record, finding, pulse.baseStep, skipS);
  const backTo = (lengthS: number): number => {
    let row = last;
    while (row > first && timeS[last] - timeS[row - 1] <= lengthS) row--;
    return row;
  };
  const before = base.gapBeforeS > 0 || base.clockRestarted ? undefined : steps[pulse.baseStep - 1];
  const sinceS = before === undefined ? Number.POSITIVE_INFINITY : timeS[last] - timeS[base.start];
  const recent = base.kind !== 'rest' || (before !== undefined && sinceS < RECENT_S);
  const long = backTo(Math.max(RECENT_S, spanS));
  const rate = recent ? null : rateOf(record, finding, long, last);
  if (!recent && !drifts(record, finding, rate, long, last)) {
    const start = Math.min(backTo(SETTLED_BASE_S), Math.max(first, last - 1));
    return { start, past: 'settled', rate };
  }
  const start = backTo(Math.max(60, 2 * spanS));
  if (last - start + 1 >= FEWEST_ROWS) return { start, past: 'relaxing', rate };
  return { start, past: 'unknown', rate: null };
}

/** First row of a step after those that are still on their way to it. */
function firstSettled(record: RecordColumns, finding: StepFinding, index: number, skipS: number): number {
  const step = finding.steps[index];
  if (step.start === 0 || index === 0) return step.start;
  const { timeS, currentA } = record;
  const toleranceA = 3 * finding.scale.loadNoiseA + finding.scale.resolutionA;
  let row = step.start;
  const unsettled = (k: number): boolean =>
    Math.abs(currentA[k] - step.currentA) > toleranceA || timeS[k] - timeS[step.start - 1] < skipS;
  while (row < step.end - 1 && unsettled(row)) row++;
  return row;
}

/** How fast the voltage moves over the rows of a rest; null where too few rows tell. */
function rateOf(record: RecordColumns, finding: StepFinding, start: number, last: number): BaseRate | null {
  if (last - start + 1 < FEWEST_ROWS) return null;
  const { slopeVPerS, errorPerV, scatterV } = lineThroughRows(record, start, last);
  const standardErrorVPerS = errorPerV * Math.max(scatterV, finding.voltageNoiseV);
  return errorPerV > 0 ? { slopeVPerS, standardErrorVPerS } : null;
}

/** Whether the voltage of the rows moves by more than its noise explains. */
function drifts(
  { timeS }: RecordColumns,
  finding: StepFinding,
  rate: BaseRate | null,
  start: number,
  last: number,
): boolean {
  if (rate === null || !(Math.abs(rate.slopeVPerS) > DRIFTS * rate.standardErrorVPerS)) return false;
  // Within one step of the reading a slow slope looks like a jump at one row.
  const visibleV = Math.abs(rate.slopeVPerS) * (timeS[last] - timeS[start]);
  return visibleV > finding.voltageResolutionV;
}
