import type { RowBlock } from '../store/chunks/rowBlock.ts';

/**
 * How segments of a record whose time starts again follow each other: after a gap, at the instants of a date column, or in
 * one clock with rows written twice.
 */
export interface JoinPlan {
  readonly follow: 'gap' | 'date' | 'overlap';
  /** From the last row of a segment to time zero of the next, in seconds. */
  readonly gapS: number;
  /** Place among the numbers of the column whose change begins a segment; -1: it begins where time runs backwards. */
  readonly markAt: number;
  /** Place among the numbers of the column of instants; -1 where none is used. */
  readonly dateAt: number;
}

/** Where a run stands in joining its segments. */
export interface JoinState {
  started: boolean;
  offsetS: number;
  lastRawS: number;
  lastS: number;
  mark: number;
  /** What turns an instant into the run's time. */
  dateToTimeS: number;
  segments: number;
}

export function newJoinState(): JoinState {
  return {
    started: false,
    offsetS: 0,
    lastRawS: Number.NEGATIVE_INFINITY,
    lastS: Number.NEGATIVE_INFINITY,
    mark: Number.NaN,
    dateToTimeS: 0,
    segments: 1,
  };
}

/**
 * Rewrites the times of a block as times of the whole run.
 *
 * @param begins whether the first row begins a segment by a column of texts
 * @returns the stretches of rows to keep: all of them, but for rows that an overlap has twice
 */
export function joinTimes(
  plan: JoinPlan,
  state: JoinState,
  { values, stride, decimals }: RowBlock,
  from: number,
  count: number,
  begins: boolean,
): [number, number][] {
  const { follow, gapS, markAt, dateAt } = plan;
  const kept: [number, number][] = [];
  let open = from;
  // The times are no longer the integers that were read.
  decimals[0] = -1;
  for (let i = from; i < count; i++) {
    const raw = values[i];
    const mark = markAt < 0 ? 0 : values[markAt * stride + i];
    const dateS = dateAt < 0 ? 0 : values[dateAt * stride + i];
    const first = !state.started;
    const starts =
      !first && ((begins && i === from) || (markAt < 0 ? raw < state.lastRawS : mark !== state.mark));
    if (first) state.dateToTimeS = raw - dateS;
    if (starts && follow !== 'overlap') {
      state.segments++;
      const offsetS = follow === 'gap' ? state.lastS + gapS : dateS + state.dateToTimeS - raw;
      // A date in whole seconds may lie a little before the last row.
      state.offsetS = Math.max(offsetS, state.lastS - raw);
    }
    const timeS = follow === 'overlap' ? raw : state.offsetS + raw;
    state.lastRawS = raw;
    state.mark = mark;
    state.started = true;
    if (follow === 'overlap' && timeS <= state.lastS) {
      if (i > open) kept.push([open, i]);
      open = i + 1;
      continue;
    }
    values[i] = timeS;
    state.lastS = timeS;
  }
  if (count > open) kept.push([open, count]);
  return kept;
}
