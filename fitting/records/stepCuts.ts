import { medianOf } from '../numeric/index.ts';
import type { CurrentScale } from './currentScale.ts';
import { gapBefore } from './gaps.ts';
import type { RecordColumns, RowRange } from './record.ts';

/** Why a record was cut before a row. */
export type CutCause = 'start' | 'restart' | 'gap' | 'current' | 'recorded-step';

/** A stretch between two cuts. */
export interface Segment extends RowRange {
  readonly cause: CutCause;
  readonly gapBeforeS: number;
  /** First row at the level that the current keeps, where the rows before it show it on its way there. */
  readonly settledFrom?: number;
}

/** −1, 0 or 1: discharge, rest or charge. A rest is a current within the channel's offset and noise. */
export function loadSign(currentA: number, scale: CurrentScale): -1 | 0 | 1 {
  const above = currentA - (scale.restOffsetA ?? 0);
  return Math.abs(above) <= scale.restA ? 0 : above > 0 ? 1 : -1;
}

/**
 * Cuts a record where a control mode may change: where the clock restarts, after a gap, where current starts,
 * ends, turns or jumps by more than 2 % (and clear of noise and resolution), and where the instrument's step
 * number changes while the current moves by more than its noise.
 */
export function cutRecord(
  record: RecordColumns,
  stretches: readonly RowRange[],
  scale: CurrentScale,
): Segment[] {
  const segments: Segment[] = [];
  for (const stretch of stretches) {
    let start = stretch.start;
    let cause: CutCause = segments.length === 0 ? 'start' : 'restart';
    let gapS = 0;
    for (let row = stretch.start + 1; row < stretch.end; row++) {
      const gap = gapBefore(record.timeS, row);
      const next = gap > 0 ? 'gap' : causeAt(record, row, scale, stretch);
      if (next === null) continue;
      segments.push({ start, end: row, cause, gapBeforeS: gapS });
      start = row;
      cause = next;
      gapS = gap;
    }
    segments.push({ start, end: stretch.end, cause, gapBeforeS: gapS });
  }
  return segments;
}

function causeAt(
  record: RecordColumns,
  row: number,
  scale: CurrentScale,
  stretch: RowRange,
): CutCause | null {
  const before = record.currentA[row - 1];
  const here = record.currentA[row];
  const sign = loadSign(here, scale);
  if (sign !== loadSign(before, scale)) return 'current';
  const larger = Math.max(Math.abs(before), Math.abs(here));
  const jump = Math.abs(here - before);
  const noiseA = 6 * scale.loadNoiseA;
  if (sign !== 0 && jump > Math.max(0.02 * larger, noiseA, 2.5 * scale.resolutionA)) {
    // In a long record noise alone makes jumps a little above this: then the levels on both sides decide.
    if (jump > 2 * noiseA || levelChange(record, row, stretch) > noiseA / 2) return 'current';
  }
  if (record.step !== undefined && record.step[row] !== record.step[row - 1] && sign !== 0) {
    const least = Math.max(3 * scale.loadNoiseA, 1.5 * scale.resolutionA, 0.002 * larger);
    if (levelChange(record, row, stretch) > least) return 'recorded-step';
  }
  return null;
}

/** Difference in A between the medians of up to five rows before a row and from it on. */
function levelChange(record: RecordColumns, row: number, stretch: RowRange): number {
  const earlier = medianOf(record.currentA.subarray(Math.max(stretch.start, row - 5), row));
  const later = medianOf(record.currentA.subarray(row, Math.min(stretch.end, row + 5)));
  return Math.abs(later - earlier);
}
