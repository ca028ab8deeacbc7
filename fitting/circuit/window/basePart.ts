import type { Pulse } from '../../records/pulses.ts';
import type { RecordColumns } from '../../records/record.ts';
import type { StepFinding } from '../../records/steps.ts';

/**
 * What earlier currents still do at a pulse's beginning. `settled`: nothing that shows; `relaxing`: the voltage is
 * still on its way, and the rows before the pulse show how; `unknown`: too few rows to tell.
 */
export type PastOfPulse = 'settled' | 'relaxing' | 'unknown';

/** The rows before a pulse that count for its circuit. */
export interface BasePart {
  readonly start: number;
  readonly past: PastOfPulse;
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
  if (!recent && !drifts(record, finding, backTo(Math.max(RECENT_S, spanS)), last)) {
    const start = Math.min(backTo(SETTLED_BASE_S), Math.max(first, last - 1));
    return { start, past: 'settled' };
  }
  const start = backTo(Math.max(60, 2 * spanS));
  if (last - start + 1 >= FEWEST_ROWS) return { start, past: 'relaxing' };
  return { start, past: 'unknown' };
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

/** Whether the voltage of the rows moves by more than its noise explains. */
function drifts(
  { timeS, voltageV }: RecordColumns,
  finding: StepFinding,
  start: number,
  last: number,
): boolean {
  const rows = last - start + 1;
  if (rows < FEWEST_ROWS) return false;
  let [meanT, meanV] = [0, 0];
  for (let k = start; k <= last; k++) {
    meanT += (timeS[k] - timeS[last]) / rows;
    meanV += (voltageV[k] - voltageV[last]) / rows;
  }
  let [products, squares, rest] = [0, 0, 0];
  for (let k = start; k <= last; k++) {
    const t = timeS[k] - timeS[last] - meanT;
    products += t * (voltageV[k] - voltageV[last] - meanV);
    squares += t * t;
  }
  if (!(squares > 0)) return false;
  const slope = products / squares;
  for (let k = start; k <= last; k++) {
    rest += (voltageV[k] - voltageV[last] - meanV - slope * (timeS[k] - timeS[last] - meanT)) ** 2;
  }
  const noiseV = Math.max(Math.sqrt(rest / (rows - 2)), finding.voltageNoiseV);
  const least = Math.max((DRIFTS * noiseV) / Math.sqrt(squares), 0);
  // Within one step of the reading a slow slope looks like a jump at one row.
  const visibleV = Math.abs(slope) * (timeS[last] - timeS[start]);
  return Math.abs(slope) > least && visibleV > finding.voltageResolutionV;
}
