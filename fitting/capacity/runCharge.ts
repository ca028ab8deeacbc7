import { medianInPlace } from '../numeric/median.ts';
import { secondDifferenceNoise } from '../numeric/noise.ts';
import { type CurrentScale, currentScale } from '../records/currentScale.ts';
import type { RecordColumns, RowRange } from '../records/record.ts';
import { columnResolution, currentResolution } from '../records/resolution.ts';
import { type ErrorBudget, halfWidth95, standardUncertaintyOf } from './coverageInterval.ts';
import type { ReadingQuality } from './cutoffCrossing.ts';
import type { ChargeRun } from './findRuns.ts';
import type { RunGap } from './pauses.ts';

/** What a record's channels are good for, for counting charge. */
export interface CountingQuality extends ReadingQuality {
  readonly scale: CurrentScale;
  /** Offset that is taken off the current, in A: the level of the rests where they show one; else 0. */
  readonly offsetA: number;
  /** Standard uncertainty of that offset in A. */
  readonly offsetUncertaintyA: number;
  /** White noise of one current reading under load, in A, without what the resolution brings. */
  readonly currentNoiseA: number;
  /** Resolution of the charge counter in Ah; null where the record has none. */
  readonly counterAh: number | null;
}

/** Charge and energy of a part of a run, as positive amounts, with what is uncertain about the charge. */
export interface RunCharge {
  readonly chargeAh: number;
  readonly energyWh: number;
  /** Half-width of the 95 % interval of the charge in Ah. */
  readonly halfWidthAh: number;
  readonly standardUncertaintyAh: number;
}

/** Fewest readings in rest from which an offset of the channel is taken. */
const FEWEST_RESTS = 5;
/** Multiple of its standard error from which on an offset is one. */
const SIGNIFICANT = 4;
/** Share of a gap's charge that stays open where its load is only inferred from the voltage. */
const INFERRED_LOAD = 0.3;
/** A wait before the first loaded row above this multiple of the usual interval belongs to the rest. */
const LATE = 1.5;

/** Noise, resolution, offset and rest level of a record. */
export function countingQuality(record: RecordColumns): CountingQuality {
  const { currentA, voltageV } = record;
  const scale = currentScale(record, currentResolution(currentA));
  const resting = (row: number): boolean => Math.abs(currentA[row] - (scale.restOffsetA ?? 0)) <= scale.restA;
  const rests: number[] = [];
  for (let row = 0; row < currentA.length; row++) if (resting(row)) rests.push(currentA[row]);
  const voltageResolutionV = columnResolution(voltageV);
  const noiseV = secondDifferenceNoise(
    voltageV,
    (row) => !resting(row - 1) && !resting(row) && !resting(row + 1),
  );
  const noiseA = secondDifferenceNoise(
    currentA,
    (row) =>
      !resting(row) && alike(currentA[row - 1], currentA[row]) && alike(currentA[row], currentA[row + 1]),
  );
  return {
    scale,
    restA: Math.max(scale.restA, 0.01 * scale.largeA),
    voltageNoiseV: Math.max(noiseV, voltageResolutionV / Math.sqrt(12)),
    voltageResolutionV,
    ...offsetOf(rests, scale.resolutionA),
    currentNoiseA: noiseA,
    counterAh: record.chargeAh === undefined ? null : columnResolution(record.chargeAh),
  };
}

const alike = (a: number, b: number): boolean => Math.abs(a - b) < 0.1 * Math.max(Math.abs(a), Math.abs(b));

/** The offset of a current channel from its readings in rest: their median, where that is clear of their scatter. */
function offsetOf(
  rests: readonly number[],
  resolutionA: number,
): Pick<CountingQuality, 'offsetA' | 'offsetUncertaintyA'> {
  if (rests.length < FEWEST_RESTS) return { offsetA: 0, offsetUncertaintyA: 0 };
  const mean = rests.reduce((sum, value) => sum + value, 0) / rests.length;
  const variance = rests.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (rests.length - 1);
  const middle = medianInPlace([...rests]);
  const dithered = Math.sqrt(variance) > resolutionA / 2;
  const error = Math.hypot(Math.sqrt(variance / rests.length), dithered ? 0 : resolutionA / Math.sqrt(12));
  const offset = dithered ? mean : middle;
  const significant = Math.abs(offset) > SIGNIFICANT * error && Math.abs(offset) > resolutionA / 2;
  return { offsetA: significant ? offset : 0, offsetUncertaintyA: error };
}

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
  const lastRow = Math.min(run.end - 1, run.lastLoadedRow + 1);
  const end = until ?? { timeS: record.timeS[lastRow], noiseS: 0, shapeS: 0 };
  const counted = integrate(record, run, end.timeS, until !== null, gaps, quality);
  const sign = run.direction === 'charge' ? 1 : -1;
  const atEndA = Math.abs(currentAt(record, run, end.timeS) - quality.offsetA);
  const crossing = { within: [(end.shapeS * atEndA) / 3600], normal: [(end.noiseS * atEndA) / 3600] };
  const integrated: ErrorBudget = {
    atLimits: counted.atLimits,
    within: [...counted.within, ...crossing.within],
    normal: [...counted.normal, ...crossing.normal],
  };
  const own = {
    chargeAh: sign * counted.chargeAh,
    energyWh: sign * counted.energyWh,
    halfWidthAh: halfWidth95(integrated),
  };
  const byCounter = counterCharge(record, run, end.timeS, quality);
  if (byCounter !== null) {
    const half = halfWidth95({
      atLimits: [],
      within: [byCounter.halfAh, ...crossing.within],
      normal: crossing.normal,
    });
    if (half < own.halfWidthAh) {
      return {
        chargeAh: sign * byCounter.chargeAh,
        energyWh: own.energyWh,
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
}

/**
 * Signed charge and energy from the run's beginning to `untilS`, with the errors of counting.
 *
 * @param loadHolds the current flows up to `untilS`, also where that is after the last loaded row
 */
function integrate(
  record: RecordColumns,
  run: ChargeRun,
  untilS: number,
  loadHolds: boolean,
  gaps: readonly RunGap[],
  quality: CountingQuality,
): Counted {
  const { timeS, voltageV, currentA } = record;
  const { offsetA, scale } = quality;
  const gapAt = new Map(gaps.map((gap) => [gap.row, gap.kind]));
  const first = run.firstLoadedRow;
  const atLimits: number[] = [];
  const leadS = leadBefore(record, run);
  const leadAs = (leadS / 2) * (currentA[first] - offsetA);
  if (leadS > 0) atLimits.push(Math.abs(leadAs) / 3600);
  let chargeAs = leadAs;
  let energyWs = chargeAs * voltageV[first];
  let squaredS = 0;
  let openAs2 = 0;
  const lastRow = Math.min(run.end - 1, run.lastLoadedRow + 1);
  for (let row = Math.max(first, run.start + 1); row <= lastRow && timeS[row - 1] < untilS; row++) {
    let spanS = timeS[row] - timeS[row - 1];
    if (!(spanS > 0)) continue;
    let fromA = currentA[row - 1] - offsetA;
    let toA = currentA[row] - offsetA;
    const kind = gapAt.get(row);
    if (row === first) {
      const usualS = usualInterval(timeS, first, run.lastLoadedRow);
      if (spanS > LATE * usualS && usualS > 0) spanS = usualS;
      fromA = Math.abs(fromA) <= quality.restA ? 0 : fromA;
      atLimits.push((spanS * Math.abs(toA - fromA)) / 7200);
    } else if (kind === 'paused') {
      const usualS = Math.min(spanS, usualInterval(timeS, row, run.lastLoadedRow));
      openAs2 += (usualS ** 2 * (fromA ** 2 + toA ** 2)) / 12;
      spanS = usualS;
    } else if (kind === 'loaded') {
      openAs2 += (INFERRED_LOAD * spanS * Math.abs(fromA + toA)) ** 2 / 12;
    } else if (row === lastRow && row > run.lastLoadedRow) {
      toA = Math.abs(toA) <= quality.restA ? 0 : toA;
      if (loadHolds) toA = fromA;
      else atLimits.push((spanS * Math.abs(toA - fromA)) / 7200);
    } else {
      openAs2 += (spanS * jumpAt(record, run, row, quality)) ** 2 / 12;
    }
    const shareS = Math.min(1, (untilS - timeS[row - 1]) / (timeS[row] - timeS[row - 1]));
    const endA = fromA + shareS * (toA - fromA);
    const endV = voltageV[row - 1] + shareS * (voltageV[row] - voltageV[row - 1]);
    chargeAs += (spanS * shareS * (fromA + endA)) / 2;
    energyWs += (spanS * shareS * (fromA * voltageV[row - 1] + endA * endV)) / 2;
    squaredS += spanS ** 2;
  }
  const lastedS = Math.max(0, untilS - timeS[first]);
  const stuck = Math.max(0, 1 - (2 * quality.currentNoiseA) / Math.max(scale.resolutionA, 1e-12));
  return {
    chargeAh: chargeAs / 3600,
    energyWh: energyWs / 3600,
    atLimits,
    within: [(stuck * (scale.resolutionA / 2) * lastedS) / 3600],
    normal: [
      Math.sqrt(openAs2) / 3600,
      (quality.currentNoiseA * Math.sqrt(squaredS)) / 3600,
      (quality.offsetUncertaintyA * lastedS) / 3600,
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
  return intervals.length === 0 ? Infinity : medianInPlace(intervals);
}

/** Size in A of a jump of the current between two rows, apart from noise and from a steady change like a taper; else 0. */
function jumpAt({ currentA }: RecordColumns, run: RowRange, row: number, quality: CountingQuality): number {
  const here = currentA[row] - currentA[row - 1];
  const before = row - 2 >= run.start ? currentA[row - 1] - currentA[row - 2] : 0;
  const after = row + 1 < run.end ? currentA[row + 1] - currentA[row] : 0;
  const jump = Math.min(Math.abs(here), Math.abs(here - before), Math.abs(here - after));
  const least = Math.max(
    6 * quality.currentNoiseA,
    1.5 * quality.scale.resolutionA,
    0.002 * quality.scale.largeA,
  );
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
