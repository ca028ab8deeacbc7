import { medianOf } from '../numeric/index.ts';
import type { CurrentScale } from './currentScale.ts';
import type { RecordColumns } from './record.ts';
import { loadSign, type Segment } from './stepCuts.ts';

/** Longest time in s that a source's current takes to its level. Common practice, no source. */
const LONGEST_S = 3;
/** The level lasts at least so many times as long as the way to it. */
const LEVEL_LASTS = 3;
/** The current keeps its level from where it stays within this share of the step. */
const SETTLED_SHARE = 0.02;
/** Share of the step by which the current may pass its level. Common practice, no source. */
const PASSED_SHARE = 0.5;
/** So many rows of one current before the level are a level of their own. */
const PAUSE_ROWS = 3;

/**
 * Joins the rows in which a controlled current comes to its level, by an exponential approach, a ramp or with an
 * overshoot that dies down, with the level that follows: they are one step. What stays at one current for three rows on the way is a level
 * of its own.
 */
export function joinSettling(
  record: RecordColumns,
  segments: readonly Segment[],
  scale: CurrentScale,
): Segment[] {
  const kept: Segment[] = [];
  for (let s = 0; s < segments.length; s++) {
    const joined = settledAt(record, segments, s, scale, kept[kept.length - 1]);
    kept.push(joined?.segment ?? segments[s]);
    if (joined !== null) s = joined.last;
  }
  return kept;
}

/** The step that begins with segment `s`, with the segments that its level takes up to `last`; null where there is nothing to join. */
function settledAt(
  record: RecordColumns,
  segments: readonly Segment[],
  s: number,
  scale: CurrentScale,
  previous: Segment | undefined,
): { readonly segment: Segment; readonly last: number } | null {
  const first = segments[s];
  if (previous === undefined || first.cause !== 'current') return null;
  const { timeS, currentA } = record;
  const from = levelOf(currentA, previous, scale);
  for (let last = s; last < segments.length; last++) {
    const level = segments[last];
    if (last > s && level.cause !== 'current' && level.cause !== 'recorded-step') return null;
    if (timeS[level.start] - timeS[first.start] > LONGEST_S) return null;
    const to = levelOf(currentA, level, scale);
    const settledFrom = settlesAt(record, first.start, level.end, from, to, scale);
    if (settledFrom === null) continue;
    if (last === s && settledFrom <= first.start + 2) return null;
    return { segment: { ...first, end: level.end, settledFrom }, last };
  }
  return null;
}

/** Current of the second half of a segment; 0 for a rest. */
function levelOf(currentA: Float64Array, { start, end }: Segment, scale: CurrentScale): number {
  const level = medianOf(currentA.subarray(start + ((end - start) >> 1), end));
  return loadSign(level, scale) === 0 ? 0 : level;
}

/** First row from which the current keeps its level, where the rows before it are on their way there; else null. */
function settlesAt(
  { timeS, currentA }: RecordColumns,
  start: number,
  end: number,
  from: number,
  to: number,
  scale: CurrentScale,
): number | null {
  const step = Math.abs(to - from);
  const noise = 5 * scale.loadNoiseA + 2 * scale.resolutionA;
  const allowed = Math.max(SETTLED_SHARE * step, noise);
  if (!(step > 4 * allowed)) return null;
  let settled = end;
  while (settled > start && Math.abs(currentA[settled - 1] - to) <= allowed) settled--;
  const way = timeS[Math.min(settled, end - 1)] - timeS[start - 1];
  const lasts = timeS[end - 1] - timeS[Math.min(settled, end - 1)];
  if (settled >= end || way > LONGEST_S || lasts < LEVEL_LASTS * way) return null;
  let alike = 1;
  for (let row = start; row < settled; row++) {
    const passed = (currentA[row] - to) * Math.sign(to - from);
    if (passed > PASSED_SHARE * step || (currentA[row] - from) * Math.sign(to - from) < -allowed) return null;
    alike = row > start && Math.abs(currentA[row] - currentA[row - 1]) <= noise ? alike + 1 : 1;
    if (alike >= PAUSE_ROWS) return null;
  }
  return settled;
}
