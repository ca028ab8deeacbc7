import { medianOf, scaledMad } from '../numeric/index.ts';
import { DEFAULT_STAYS, limitCrossing, type StaysRule } from './limitCrossing.ts';

/** A smoothed series of one cell. */
export interface DriftSeries {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** Where two cells left their tolerance of each other. */
export interface PairDrift {
  /** x from which on the difference stays beyond the tolerance; null where it does not. */
  readonly leavesAt: number | null;
  /** Relative difference |a − b| / mean at the last common x. */
  readonly differenceAtEnd: number | null;
}

/**
 * Follows the relative difference of two cells over their common range, at the x of the first, the other interpolated.
 *
 * @param tolerance relative, above 0
 * @param stays how a departure is distinguished from a dip, see `limitCrossing`
 */
export function pairDrift(
  first: DriftSeries,
  second: DriftSeries,
  tolerance: number,
  stays: StaysRule = DEFAULT_STAYS,
): PairDrift {
  if (!(tolerance > 0)) throw new RangeError(`tolerance must be positive, got ${tolerance}`);
  const at: number[] = [];
  const difference: number[] = [];
  first.x.forEach((x, i) => {
    const other = interpolate(second, x);
    if (other === null) return;
    at.push(x);
    difference.push((2 * Math.abs(first.y[i] - other)) / (first.y[i] + other));
  });
  if (at.length === 0) return { leavesAt: null, differenceAtEnd: null };
  const crossing = limitCrossing(
    Float64Array.from(at),
    Float64Array.from(difference),
    tolerance,
    'above',
    stays,
  );
  return { leavesAt: crossing.crossedAt, differenceAtEnd: difference[difference.length - 1] };
}

/** Value at x by a straight line between neighbours; null outside the series. */
export function interpolate(series: DriftSeries, x: number): number | null {
  const { x: xs, y } = series;
  const n = xs.length;
  if (n === 0 || x < xs[0] || x > xs[n - 1]) return null;
  let low = 0;
  let high = n - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (xs[middle] <= x) low = middle;
    else high = middle;
  }
  if (low === high) return y[low];
  return y[low] + ((y[high] - y[low]) * (x - xs[low])) / (xs[high] - xs[low]);
}

/** Scores below this many robust standard deviations are ordinary. Common practice for the modified z-score. */
const ODD_SCORE = 3.5;
/** Ages at which the lot is compared, as shares of the median last x. */
const AGES = 12;

/**
 * How far each cell ages away from its lot: the robust score (x − median)/(1.4826 MAD) of its relative change since new,
 * at the last three common ages it reached. 0 where the lot has fewer than 6 cells. Positive: more change than the lot.
 * B. Iglewicz, D. C. Hoaglin, How to Detect and Handle Outliers (1993), use 3.5 as the limit.
 *
 * @param change one series a cell: relative loss, or relative growth, against x
 */
export function awayFromLot(change: readonly DriftSeries[]): { score: number; odd: boolean }[] {
  const usual = { score: 0, odd: false };
  if (change.length < 6) return change.map(() => usual);
  const last = medianOf(change.map(({ x }) => x[x.length - 1] ?? 0));
  const scores = change.map(() => [] as number[]);
  for (let age = 1; age <= AGES; age++) {
    const values = change.map((series) => interpolate(series, (age / AGES) * last));
    const known = values.filter((value): value is number => value !== null);
    if (known.length < 6) continue;
    const middle = medianOf(known);
    const spread = scaledMad(known);
    if (!(spread > 0)) continue;
    values.forEach((value, i) => {
      if (value !== null) scores[i].push((value - middle) / spread);
    });
  }
  return scores.map((all) => {
    const latest = all.slice(-3);
    if (latest.length < 3) return usual;
    const score = latest.reduce((a, b) => (Math.abs(a) < Math.abs(b) ? a : b));
    const odd = latest.every((value) => Math.abs(value) > ODD_SCORE && Math.sign(value) === Math.sign(score));
    return { score, odd };
  });
}
