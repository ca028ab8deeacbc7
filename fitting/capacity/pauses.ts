import { medianInPlace } from '../numeric/median.ts';
import { gapBefore } from '../records/gaps.ts';
import type { RecordColumns } from '../records/record.ts';
import type { ChargeRun } from './findRuns.ts';

/**
 * What the voltage says of a stretch without rows inside a run: the current rested, it flowed on, or the voltage tells
 * neither.
 */
export type GapKind = 'paused' | 'loaded' | 'unknown';

/** A stretch without rows across which current may have flowed; it ends at `row`. */
export interface RunGap {
  readonly row: number;
  readonly kind: GapKind;
}

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
  for (let row = run.firstLoadedRow + 1; row <= run.lastLoadedRow; row++) {
    if (gapBefore(timeS, row) === 0) continue;
    const flows = Math.abs(currentA[row - 1]) > restA || Math.abs(currentA[row]) > restA;
    if (!flows) continue;
    const before = slope(record, Math.max(run.firstLoadedRow, row - SLOPE_ROWS), row - 1);
    const after = slope(record, row, Math.min(run.lastLoadedRow, row + SLOPE_ROWS - 1));
    const spanS = timeS[row] - timeS[row - 1];
    const expectedV = spanS * medianInPlace([before, after]);
    const movedV = voltageV[row] - voltageV[row - 1];
    const sign = run.direction === 'charge' ? 1 : -1;
    const both = Math.abs(currentA[row - 1]) > restA && Math.abs(currentA[row]) > restA;
    gaps.push({ row, kind: both ? kindOf(movedV, expectedV, sign, noiseV) : 'unknown' });
  }
  return gaps;
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
