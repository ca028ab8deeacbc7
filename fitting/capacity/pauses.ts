import { medianOf } from '../numeric/index.ts';
import type { RecordColumns } from '../records/index.ts';
import { gapBefore } from '../records/index.ts';
import type { ChargeRun } from './findRuns.ts';

/**
 * What the voltage says of a stretch without rows inside a run: the current rested, it flowed on, or the voltage tells
 * neither. Then it is `open` where what it may hold is small beside the run: counted as loaded, and in the interval.
 */
export type GapKind = 'paused' | 'loaded' | 'open' | 'unknown';

/** A stretch without rows across which current may have flowed; it ends at `row`. */
export interface RunGap {
  readonly row: number;
  readonly kind: GapKind;
}

/** A stretch this much longer than the intervals beside it lacks rows, if only a few: where rows keep to one interval, and where not. */
const OUT_OF_PROPORTION = { regular: 1.5, irregular: 2.5 };
/** Rows keep to one interval where so many of theirs are within this share of the median. */
const REGULAR = { rows: 0.9, within: 0.2 };
/** Share of the length of the run below which a stretch holds too little to matter, and up to which it may stay open. */
const LEAST_SHARE = 0.0005;
const OPEN_SHARE = 0.02;

/** Share of the expected change of voltage up to which a gap was a pause, and from which on it was a load. */
const PAUSED_BELOW = 0.25;
const LOADED_FROM = 0.6;
const LOADED_TO = 1.7;
/** Rows on either side that the slope of the voltage is taken from. */
const SLOPE_ROWS = 8;

/**
 * The gaps of a run with current on both sides. Had the current flowed on, the voltage would have gone on at about the
 * slopes before and after the gap; over a pause it does not move, or recovers. Where the slopes are too small against the
 * noise, or the change lies in between, the charge moved in the gap is unknown.
 */
export function runGaps(record: RecordColumns, run: ChargeRun, restA: number, noiseV: number): RunGap[] {
  const { timeS, currentA, voltageV } = record;
  const gaps: RunGap[] = [];
  const lengthS = timeS[run.lastLoadedRow] - timeS[run.firstLoadedRow];
  const times = isRegular(timeS.subarray(run.firstLoadedRow, run.lastLoadedRow + 1))
    ? OUT_OF_PROPORTION.regular
    : OUT_OF_PROPORTION.irregular;
  for (let row = run.firstLoadedRow + 1; row <= run.lastLoadedRow; row++) {
    if (gapBefore(timeS, row, LEAST_SHARE * lengthS, times) === 0) continue;
    const flows = Math.abs(currentA[row - 1]) > restA || Math.abs(currentA[row]) > restA;
    if (!flows) continue;
    const end = lastLoaded(record, run, row - 1, restA);
    const before = slope(record, Math.max(run.firstLoadedRow, end + 1 - SLOPE_ROWS), end);
    const after = slope(record, row, Math.min(run.lastLoadedRow, row + SLOPE_ROWS - 1));
    const spanS = timeS[row] - timeS[row - 1];
    const expectedV = spanS * medianOf([before, after]);
    // A rest may have left its first rows: what it hides is between the load before it and the load after it.
    const movedV = voltageV[row] - voltageV[end];
    const sign = run.direction === 'charge' ? 1 : -1;
    const known = Math.abs(currentA[row]) > restA && loadedAlike(currentA[end], currentA[row]);
    const kind = known ? kindOf(movedV, expectedV, sign, noiseV) : 'unknown';
    gaps.push({ row, kind: kind === 'unknown' && spanS <= OPEN_SHARE * lengthS ? 'open' : kind });
  }
  return gaps;
}

function isRegular(timeS: Float64Array): boolean {
  if (timeS.length < 3) return false;
  const intervals = timeS.slice(1).map((time, i) => time - timeS[i]);
  const usual = medianOf(intervals);
  const alike = intervals.filter((interval) => Math.abs(interval - usual) <= REGULAR.within * usual);
  return alike.length >= REGULAR.rows * intervals.length;
}

/** Rows of rest before a gap that are looked over. */
const FEW_RESTS = 5;
/** Share within which the loads beside a gap are one. */
const ONE_LOAD = 0.1;

/** The last loaded row up to `row`, where only a few of rest follow it; else `row`. */
function lastLoaded({ currentA }: RecordColumns, run: ChargeRun, row: number, restA: number): number {
  for (let k = row; k >= Math.max(run.firstLoadedRow, row - FEW_RESTS); k--)
    if (Math.abs(currentA[k]) > restA) return k;
  return row;
}

function loadedAlike(a: number, b: number): boolean {
  return Math.abs(a - b) <= ONE_LOAD * Math.max(Math.abs(a), Math.abs(b));
}

function kindOf(movedV: number, expectedV: number, sign: number, noiseV: number): GapKind {
  if (!(sign * expectedV > 15 * noiseV && sign * expectedV > 0.005)) return 'unknown';
  const share = movedV / expectedV;
  if (share < PAUSED_BELOW) return 'paused';
  return share >= LOADED_FROM && share <= LOADED_TO ? 'loaded' : 'unknown';
}

/** Slope of a straight line through the voltages of the rows, ends included, in V/s; 0 where they have no extent. */
function slope({ timeS, voltageV }: RecordColumns, first: number, last: number): number {
  const n = last - first + 1;
  let [t, v] = [0, 0];
  for (let i = first; i <= last; i++) {
    t += timeS[i] / n;
    v += voltageV[i] / n;
  }
  let [tt, tv] = [0, 0];
  for (let i = first; i <= last; i++) {
    tt += (timeS[i] - t) ** 2;
    tv += (timeS[i] - t) * (voltageV[i] - v);
  }
  return tt > 0 ? tv / tt : 0;
}
