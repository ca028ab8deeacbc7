import { normalQuantile } from '../statistics/index.ts';

/** How a crossing is distinguished from a dip: at least `k` of the `n` points from the crossing on lie beyond the limit. */
export interface StaysRule {
  readonly k: number;
  readonly n: number;
}

/** The first crossing that stays crossed, and the first point beyond the limit at all. */
export interface LimitCrossing {
  /** x of the first point beyond the limit from which on it stays crossed; null where there is none. */
  readonly crossedAt: number | null;
  /** x of the first point beyond the limit, which may be a single dip. */
  readonly firstDipAt: number | null;
}

/** Four of five: a restart of a bench makes one or two odd cycles. */
export const DEFAULT_STAYS: StaysRule = { k: 4, n: 5 };

/**
 * Finds where a series goes beyond a limit for good. Points that are not finite or are marked implausible take no part.
 * Near the end of the series, where fewer than n points follow, k of them must still lie beyond.
 *
 * @param beyond 'below' for capacity, 'above' for resistance
 * @param takesPart false for points that cannot be (zero, broken-off runs); default all
 * @param confirms false for points that look like outliers: a crossing may begin at one, but k of the n points that follow and are none
 * must lie beyond as well; default all
 * @throws RangeError when the rule cannot be (1 ≤ k ≤ n)
 */
export function limitCrossing(
  x: Float64Array,
  y: Float64Array,
  threshold: number,
  beyond: 'below' | 'above',
  stays: StaysRule = DEFAULT_STAYS,
  takesPart: (index: number) => boolean = () => true,
  confirms: (index: number) => boolean = () => true,
): LimitCrossing {
  const { k, n } = stays;
  if (!(Number.isInteger(k) && Number.isInteger(n) && k >= 1 && k <= n)) {
    throw new RangeError(`The rule "k of n" needs whole numbers with 1 ≤ k ≤ n, got k = ${k}, n = ${n}`);
  }
  const points: number[] = [];
  for (let i = 0; i < y.length; i++) if (Number.isFinite(y[i]) && takesPart(i)) points.push(i);
  const crossed = points.map((i) => (beyond === 'below' ? y[i] < threshold : y[i] > threshold));
  const first = crossed.indexOf(true);
  if (first < 0) return { crossedAt: null, firstDipAt: null };
  const firstDipAt = x[points[first]];
  const sound = points.map((i) => confirms(i));
  const beyondOf = (from: number, counts: (p: number) => boolean): number => {
    let seen = 0;
    let count = 0;
    for (let p = from; p < points.length && seen < n; p++) {
      if (!counts(p)) continue;
      seen++;
      if (crossed[p]) count++;
    }
    return count;
  };
  for (let p = first; p < points.length; p++) {
    if (!crossed[p] || beyondOf(p, () => true) < k || beyondOf(p, (q) => sound[q]) < k) continue;
    return { crossedAt: x[points[p]], firstDipAt };
  }
  return { crossedAt: null, firstDipAt };
}

/**
 * Between which points a series that stays beyond a limit has crossed it: from the last one before the crossing that lies
 * on this side of the limit by more than the noise may move it (95 % for all points near the limit together), to the first from the crossing on that lies beyond
 * by as much. The series says nothing of the time between two points.
 *
 * @param crossedAt x of the crossing found by {@link limitCrossing}
 * @param noise standard deviation of one point
 * @returns low null where the series begins without a point clearly on this side; high the crossing itself where
 * none lies clearly beyond
 */
export function crossedBetween(
  x: Float64Array,
  y: Float64Array,
  threshold: number,
  beyond: 'below' | 'above',
  crossedAt: number,
  noise: number,
  takesPart: (index: number) => boolean = () => true,
): { readonly low: number | null; readonly high: number } {
  const sign = beyond === 'below' ? 1 : -1;
  let near = 0;
  for (let i = 0; i < y.length; i++) if (takesPart(i) && Math.abs(y[i] - threshold) < 3 * noise) near++;
  // Of many points near the limit the farthest is looked at: half of them on either side could be it (Bonferroni).
  const reach = noise * normalQuantile(1 - 0.025 / Math.max(1, near / 2));
  let low: number | null = null;
  let high: number | null = null;
  let last = crossedAt;
  for (let i = 0; i < y.length; i++) {
    if (!Number.isFinite(y[i]) || !takesPart(i)) continue;
    const thisSide = sign * (y[i] - threshold);
    if (x[i] < crossedAt && thisSide > reach) low = x[i];
    if (x[i] < crossedAt) continue;
    last = x[i];
    if (high === null && thisSide < -reach) high = x[i];
  }
  return { low, high: high ?? last };
}
