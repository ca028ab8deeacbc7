import { medianOf } from '../numeric/index.ts';
import type { RecordColumns, RowRange } from '../records/index.ts';
import type { CountingQuality } from './countingQuality.ts';
import { type ErrorBudget, halfWidth95, standardUncertaintyOf } from './coverageInterval.ts';
import type { ChargeRun } from './findRuns.ts';
import type { RunGap } from './pauses.ts';
import { endEdge, startEdge } from './runEdges.ts';

/** Charge and energy of a part of a run, as positive amounts, with what is uncertain about the charge. */
export interface RunCharge {
  readonly chargeAh: number;
  readonly energyWh: number;
  /** Half-width of the 95 % interval of the charge in Ah. */
  readonly halfWidthAh: number;
  readonly standardUncertaintyAh: number;
  /** Time over which an offset of the current that no rest shows would be counted, in s. */
  readonly countedS: number;
}

/** Share of a gap's charge that stays open where its load is only inferred from the voltage. */
const INFERRED_LOAD = 0.3;

/** A moment to which a run is counted, and what is open about it. */
export interface CountUntil {
  readonly timeS: number;
  readonly noiseS: number;
  readonly shapeS: number;
}

/**
 * Charge and energy of a run from its beginning to a moment, by the trapezoid rule on the current, or by the instrument's
 * counter where that is the better.
 *
 * The uncertainty of the charge holds: the moments at which the current starts, ends and jumps between rows; the
 * crossing of the cut-off; noise and resolution of the current; the offset found in rest; the charge in gaps. The
 * instrument's accuracy (its gain, and an offset that no rest shows) is not in the record and comes on top; it is the
 * same for all cells of one channel.
 *
 * @param until null: to the end of the load
 */
export function runCharge(
  record: RecordColumns,
  run: ChargeRun,
  until: CountUntil | null,
  gaps: readonly RunGap[],
  quality: CountingQuality,
): RunCharge {
  const counted = integrate(record, run, until?.timeS ?? null, gaps, quality);
  const sign = run.direction === 'charge' ? 1 : -1;
  const atEndA =
    until === null ? 0 : Math.abs(currentAt(record, run, until.timeS) - (quality.offset?.valueA ?? 0));
  const crossing = {
    within: [((until?.shapeS ?? 0) * atEndA) / 3600],
    normal: [((until?.noiseS ?? 0) * atEndA) / 3600],
  };
  const own = {
    chargeAh: sign * counted.chargeAh,
    energyWh: sign * counted.energyWh,
    countedS: counted.countedS,
    halfWidthAh: halfWidth95({
      atLimits: counted.atLimits,
      within: [...counted.within, ...crossing.within],
      normal: [...counted.normal, ...crossing.normal],
    }),
  };
  const byCounter = counterCharge(record, run, counted.untilS, quality);
  if (byCounter !== null) {
    const half = halfWidth95({
      atLimits: [],
      within: [byCounter.halfAh, ...crossing.within],
      normal: crossing.normal,
    });
    if (half < own.halfWidthAh) {
      return {
        ...own,
        chargeAh: sign * byCounter.chargeAh,
        halfWidthAh: half,
        standardUncertaintyAh: standardUncertaintyOf(half),
      };
    }
  }
  return { ...own, standardUncertaintyAh: standardUncertaintyOf(own.halfWidthAh) };
}

interface Counted extends ErrorBudget {
  readonly chargeAh: number;
  readonly energyWh: number;
  readonly untilS: number;
  readonly countedS: number;
}

/** A growing sum of charge and energy with the errors of counting. */
class Sum {
  chargeAs = 0;
  energyWs = 0;
  /** Variance of the jumps and gaps, in (As)². */
  openAs2 = 0;
  /** Sum of the squared intervals, which white noise of the current goes by. */
  squaredS2 = 0;
  readonly atLimitsAs: number[] = [];

  add(spanS: number, fromA: number, toA: number, fromV: number, toV: number): void {
    this.chargeAs += (spanS * (fromA + toA)) / 2;
    this.energyWs += (spanS * (fromA * fromV + toA * toV)) / 2;
    this.squaredS2 += spanS ** 2;
  }
}

/**
 * Signed charge and energy from the run's beginning to `stopS`, with the errors of counting. The load holds up to `stopS`,
 * also where that is after the last loaded row; null counts to where the load goes off.
 */
function integrate(
  record: RecordColumns,
  run: ChargeRun,
  stopS: number | null,
  gaps: readonly RunGap[],
  quality: CountingQuality,
): Counted {
  const { timeS, voltageV } = record;
  const sum = new Sum();
  const current = correctedCurrent(record, quality);
  const gapAt = new Map(gaps.map((gap) => [gap.row, gap.kind]));
  const start = startEdge(record, run, quality);
  const end = stopS === null ? endEdge(record, run, quality) : null;
  const untilS = stopS ?? end?.momentS ?? timeS[run.lastLoadedRow];
  const offsetA = quality.offset?.valueA ?? 0;
  const from = beginning(record, run, start, sum, offsetA);
  const last = end === null ? Math.min(run.end - 1, run.lastLoadedRow + 1) : end.before;
  for (let row = from + 1; row <= last && timeS[row - 1] < untilS; row++) {
    const spanS = timeS[row] - timeS[row - 1];
    if (!(spanS > 0)) continue;
    const [fromA, readA] = [current(row - 1), current(row)];
    const toA = row > run.lastLoadedRow ? fromA : readA;
    const kind = gapAt.get(row);
    let countedS = spanS;
    if (kind === 'paused') {
      countedS = Math.min(spanS, usualInterval(timeS, row, run.lastLoadedRow));
      sum.openAs2 += (countedS ** 2 * (fromA ** 2 + toA ** 2)) / 12;
    } else if (kind === 'open') {
      // All of it or nothing.
      sum.atLimitsAs.push((spanS * Math.abs(fromA + toA)) / 2);
    } else if (kind === 'loaded') {
      sum.openAs2 += (INFERRED_LOAD * spanS * Math.abs(fromA + toA)) ** 2 / 12;
    } else if (row <= run.lastLoadedRow) {
      sum.openAs2 += (spanS * jumpAt(record, run, row, quality)) ** 2 / 12;
    }
    const share = Math.min(1, (untilS - timeS[row - 1]) / spanS);
    const endV = voltageV[row - 1] + share * (voltageV[row] - voltageV[row - 1]);
    sum.add(countedS * share, fromA, fromA + share * (toA - fromA), voltageV[row - 1], endV);
  }
  if (end !== null) {
    const loadA = end.loadA - offsetA;
    sum.add(end.momentS - timeS[end.before], loadA, loadA, voltageV[end.before], voltageV[end.before]);
    sum.atLimitsAs.push(end.halfWidthS * Math.abs(loadA));
  }
  const countedS = Math.max(0, untilS - (start?.momentS ?? timeS[run.firstLoadedRow]));
  return { ...errors(sum, countedS, quality), untilS, countedS };
}

/** Counts what comes before the first row from which the trapezoid rule serves, and gives that row. */
function beginning(
  record: RecordColumns,
  run: ChargeRun,
  start: ReturnType<typeof startEdge>,
  sum: Sum,
  offsetA: number,
): number {
  const { timeS, voltageV, currentA } = record;
  const first = run.firstLoadedRow;
  if (start !== null) {
    const loadA = start.loadA - offsetA;
    const row = start.settled;
    sum.add(timeS[row] - start.momentS, loadA, loadA, voltageV[row], voltageV[row]);
    sum.atLimitsAs.push(start.halfWidthS * Math.abs(loadA));
    return row;
  }
  const leadS = leadBefore(record, run);
  const loadA = (currentA[first] - offsetA) / 2;
  sum.add(leadS, loadA, loadA, voltageV[first], voltageV[first]);
  if (leadS > 0) sum.atLimitsAs.push(Math.abs(leadS * loadA));
  return first;
}

/** Current of a row without offset and, where rounding keeps it on a few steps, without what rounding does to its level. */
function correctedCurrent({ currentA }: RecordColumns, quality: CountingQuality): (row: number) => number {
  const offsetA = quality.offset?.valueA ?? 0;
  const stuck = quality.stuckLoad;
  if (stuck === null) return (row) => currentA[row] - offsetA;
  return (row) => {
    const here = currentA[row];
    const corrected = here >= stuck.lowestA && here <= stuck.highestA ? here + stuck.correctionA : here;
    return corrected - offsetA;
  };
}

function errors(sum: Sum, countedS: number, quality: CountingQuality): Omit<Counted, 'untilS' | 'countedS'> {
  const { offset, stuckLoad } = quality;
  const noiseA =
    stuckLoad === null ? Math.hypot(quality.currentNoiseA, quality.currentStepA / Math.sqrt(12)) : 0;
  return {
    chargeAh: sum.chargeAs / 3600,
    energyWh: sum.energyWs / 3600,
    atLimits: sum.atLimitsAs.map((as) => as / 3600),
    within: [((offset?.withinA ?? 0) * countedS) / 3600, ((stuckLoad?.withinA ?? 0) * countedS) / 3600],
    normal: [
      Math.sqrt(sum.openAs2) / 3600,
      (noiseA * Math.sqrt(sum.squaredS2)) / 3600,
      ((offset?.normalA ?? 0) * countedS) / 3600,
      ((stuckLoad?.normalA ?? 0) * countedS) / 3600,
    ],
  };
}

/**
 * Longest time in s for which the load may have flowed before the first row of a record that begins under load: up to one
 * interval, and not before the record's clock, which a tester starts with the step.
 */
function leadBefore({ timeS }: RecordColumns, run: ChargeRun): number {
  const first = run.firstLoadedRow;
  if (first !== 0) return 0;
  const usualS = usualInterval(timeS, first, run.lastLoadedRow);
  return Math.max(0, Math.min(timeS[0], Number.isFinite(usualS) ? usualS : 0));
}

/** Median of the first few intervals from a row on. */
function usualInterval(timeS: Float64Array, row: number, last: number): number {
  const intervals: number[] = [];
  for (let i = row + 1; i <= Math.min(last, row + 6); i++) intervals.push(timeS[i] - timeS[i - 1]);
  return intervals.length === 0 ? Infinity : medianOf(intervals);
}

/** Size in A of a jump of the current between two rows, apart from noise and from a steady change like a taper; else 0. */
function jumpAt({ currentA }: RecordColumns, run: RowRange, row: number, quality: CountingQuality): number {
  const here = currentA[row] - currentA[row - 1];
  const before = row - 2 >= run.start ? currentA[row - 1] - currentA[row - 2] : 0;
  const after = row + 1 < run.end ? currentA[row + 1] - currentA[row] : 0;
  const jump = Math.min(Math.abs(here), Math.abs(here - before), Math.abs(here - after));
  const least = Math.max(6 * quality.currentNoiseA, 1.5 * quality.currentStepA, 0.002 * quality.scale.largeA);
  return jump > least ? jump : 0;
}

/** Current at a moment of a run: that of the loaded row before it. */
function currentAt({ timeS, currentA }: RecordColumns, run: ChargeRun, atS: number): number {
  let row = run.lastLoadedRow;
  while (row > run.firstLoadedRow && timeS[row] >= atS) row--;
  return currentA[row];
}

function counterCharge(
  record: RecordColumns,
  run: ChargeRun,
  untilS: number,
  quality: CountingQuality,
): { chargeAh: number; halfAh: number } | null {
  const { timeS, chargeAh } = record;
  if (chargeAh === undefined || quality.counterAh === null) return null;
  const from = Math.max(run.start, run.firstLoadedRow - 1);
  let row = Math.min(run.end - 1, run.lastLoadedRow + 1);
  while (row > from + 1 && timeS[row - 1] >= untilS) row--;
  const spanS = timeS[row] - timeS[row - 1];
  const share = spanS > 0 ? Math.min(1, Math.max(0, (untilS - timeS[row - 1]) / spanS)) : 1;
  const atEnd = chargeAh[row - 1] + share * (chargeAh[row] - chargeAh[row - 1]);
  return { chargeAh: atEnd - chargeAh[from], halfAh: quality.counterAh };
}
