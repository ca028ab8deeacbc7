import { medianOf } from '../../numeric/index.ts';
import type { CircuitWindow } from '../window/circuitWindow.ts';

/** What a window can tell time constants between. */
export interface TauRange {
  readonly minS: number;
  readonly maxS: number;
  /** Usual interval of the rows just after the changes of current. */
  readonly intervalS: number;
  /** Time from the first change of current to the end. */
  readonly lengthS: number;
}

/**
 * Multiple of a voltage channel's lag that serves as the interval. A branch is refused below 0.7 of it, so
 * that none comes within a factor of two of the lag.
 */
const LAGS_TO_TELL = 3;

/** Rows that all bear one time stamp have no interval; the bounds need one above 0. */
const SHORTEST_S = 1e-6;

/**
 * Bounds of the time constants from the sampling and the length of a window: a third of the interval just
 * after the current's changes, and twice the time from the first change to the end. Nothing outside can be
 * told from R0 on the one hand and from a drifting OCV on the other.
 */
export function tauBounds(window: CircuitWindow): TauRange {
  const { timeS, currentA, runs, scored } = window;
  const n = timeS.length;
  // Rows before the first that counts only lead the branches into their state: they tell no time constant.
  const begin = Math.max(0, scored.indexOf(1));
  let highest = 0;
  let lowest = 0;
  for (let k = begin; k < n; k++) {
    const change = currentA[k] - currentA[begin];
    if (change > highest) highest = change;
    else if (change < lowest) lowest = change;
  }
  const tenth = 0.1 * Math.max(highest, -lowest);
  let first = begin;
  while (first + 1 < n && Math.abs(currentA[first + 1] - currentA[begin]) < tenth) first++;
  const intervals: number[] = [];
  for (let k = first + 1; k < n && intervals.length < 9; k++) {
    if (timeS[k] > timeS[k - 1]) intervals.push(timeS[k] - timeS[k - 1]);
  }
  const fallback = runs.length > 0 ? (timeS[n - 1] - timeS[0]) / n : 1;
  let intervalS = Math.max(intervals.length > 0 ? medianOf(intervals) : fallback, SHORTEST_S);
  const lengthS = Math.max(timeS[n - 1] - timeS[first], intervalS);
  if (window.lag !== null) {
    // A branch quicker than twice the lag looks like what is left of the edge.
    const { lagS } = window.lag;
    intervalS = Math.max(intervalS, LAGS_TO_TELL * lagS);
    return { minS: intervalS / 2, maxS: Math.max(2 * lengthS, intervalS), intervalS, lengthS };
  }
  let counts = first + 1;
  while (counts < n && scored[counts] === 0) counts++;
  // Nothing faster than the first row that counts can be separated from R0.
  if (counts < n) intervalS = Math.max(intervalS, timeS[counts] - timeS[first]);
  return { minS: intervalS / 3, maxS: Math.max(2 * lengthS, intervalS), intervalS, lengthS };
}

/** Starts spread evenly over the logarithms, each branch slower than the one before. */
export function defaultStarts(branches: number, low: number, high: number): number[][] {
  const at = (share: number): number => low + share * (high - low);
  switch (branches) {
    case 0:
      return [[]];
    case 1:
      return [0.3, 0.5, 0.7, 0.85].map((a) => [at(a)]);
    case 2:
      return [
        [0.2, 0.6],
        [0.3, 0.8],
        [0.45, 0.7],
        [0.5, 0.85],
        [0.6, 0.9],
      ].map((pair) => pair.map(at));
    case 3:
      return [
        [0.15, 0.45, 0.8],
        [0.25, 0.5, 0.75],
        [0.35, 0.6, 0.85],
        [0.45, 0.7, 0.9],
      ].map((triple) => triple.map(at));
    default:
      // Three branches and a drift.
      return [
        [0.15, 0.4, 0.65, 0.95],
        [0.3, 0.5, 0.75, 1],
      ].map((four) => four.map(at));
  }
}
