import { MAD_TO_STANDARD_DEVIATION, medianOf, secondDifferenceNoise } from '../numeric/index.ts';
import { runningMedian } from './runningMedian.ts';

/** What is followed over life. */
export type AgeingQuantity = 'capacity' | 'resistance';

/** Why a point is kept as measured but left out of the fits. */
export type LeftOutReason =
  | 'missing'
  | 'zero'
  | 'above-plausible-limit'
  | 'below-plausible-limit'
  | 'spike'
  | 'recovery'
  | 'restart'
  | 'unrepresentative-start'
  | 'before-step'
  | 'failed';

/** Settings of {@link cleanSeries}; all have defaults. */
export interface CleanOptions {
  /** Rated value the plausible limits refer to; default: the series' own 90th percentile (capacity) or median. */
  readonly rated?: number | null;
  /** Above this multiple of the reference a value cannot be. Default 1.2 for capacity, 5 for resistance. */
  readonly above?: number;
  /** Below this share of the reference a run was broken off. Default 0.3 for capacity, 0.2 for resistance. */
  readonly below?: number;
  /** A point off the running median by more than this many times the noise is a spike. Default 6. */
  readonly spikeSigmas?: number;
  /** … and by more than this share of the level. Default 0.002. */
  readonly spikeShare?: number;
}

/** A series with what was left out. Indices refer to the input. */
export interface CleanSeries {
  /** Points for the fits. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Index in the input of each kept point. */
  readonly index: Int32Array;
  readonly leftOut: readonly { readonly index: number; readonly reason: LeftOutReason }[];
  /** Standard deviation of the point-to-point scatter of the kept points. */
  readonly noise: number;
  /** Running median of the kept points, same length as `x`. */
  readonly smooth: Float64Array;
}

/** So many rows at the very end that all lie beyond the plausible limit are a cell that has failed. */
const LEAST_FAILED = 4;
/** A first value is compared with the median of so many that follow it … */
const FOLLOWING_POINTS = 5;
/** … and is not what the cell begins with where it lies off by more than this share, and by more than twice the range of those. */
const START_SHARE = 0.05;
const MOST_START_POINTS = 3;
/** The last value is compared with the steps between so many values. */
const END_POINTS = 10;

/** Half width of the window a point is compared with. */
const HALF_WINDOW = 7;

/**
 * Sorts out what must not lead a fit astray. Nothing is changed or dropped silently: each point left out is listed.
 *
 * - `missing` (not a finite number), `zero` (0 or below), `above-plausible-limit`, `below-plausible-limit`;
 * - `failed`: at least four rows at the very end that lie beyond the plausible limit on the aged side, or are 0 Ah: the
 *   cell no longer works;
 * - `unrepresentative-start`: up to three first values more than 5 % off the median of the five that follow, which agree among
 *   themselves: a first charge that was not full, a conditioning cycle at another rate;
 * - `spike`: a last value alone that jumps (see `endsOdd`), or off the running median of 15 points (symmetric window,
 *   shrinking towards the ends, so the last point is never judged) by more than 6 times the noise and 0.2 % of the
 *   level;
 * - `recovery`: the same, but towards the healthy side (capacity up, resistance down), as after a rest, or in check-ups at
 *   another rate; a first value that stands out like two or more of these is one of them.
 *
 * The noise is that of second differences or of the distances to the running median, whichever is larger.
 *
 * @param x strictly rising, same length as `y`
 * @param y as measured, NaN where missing
 * @throws RangeError for lengths that differ or x that do not rise
 */
export function cleanSeries(
  x: Float64Array,
  y: Float64Array,
  quantity: AgeingQuantity,
  options: CleanOptions = {},
): CleanSeries {
  if (x.length !== y.length)
    throw new RangeError(`y holds ${y.length} values and x ${x.length}: they must be as many`);
  for (let i = 1; i < x.length; i++) {
    if (!(x[i] > x[i - 1]))
      throw new RangeError(`x[${i}] = ${x[i]} does not lie above x[${i - 1}] = ${x[i - 1]}`);
  }
  const leftOut: { index: number; reason: LeftOutReason }[] = [];
  const plausible = withoutOddStart(y, keepPlausible(y, quantity, options, leftOut), leftOut);
  const values = Float64Array.from(plausible, (i) => y[i]);
  const kept: number[] = [];
  const smooth = runningMedian(values, HALF_WINDOW);
  const distance = values.map((value, k) => Math.abs(value - smooth[k]));
  const noise = Math.max(
    secondDifferenceNoise(values, undefined, 1),
    MAD_TO_STANDARD_DEVIATION * medianOf(distance) || 0,
  );
  const sigmas = options.spikeSigmas ?? 6;
  const share = options.spikeShare ?? 0.002;
  const healthy = quantity === 'capacity' ? 1 : -1;
  const recoveries: number[] = [];
  plausible.forEach((i, k) => {
    const away = values[k] - smooth[k];
    if (Math.abs(away) > sigmas * noise && Math.abs(away) > share * Math.abs(smooth[k])) {
      leftOut.push({ index: i, reason: away * healthy > 0 ? 'recovery' : 'spike' });
      if (away * healthy > 0) recoveries.push(away * healthy);
    } else kept.push(i);
  });
  if (kept[0] === plausible[0] && beginsWithCheckUp(values, healthy, recoveries)) {
    leftOut.push({ index: kept.shift() ?? 0, reason: 'recovery' });
  }
  if (endsOdd(kept.map((i) => y[i]))) leftOut.push({ index: kept.pop() ?? 0, reason: 'spike' });
  leftOut.sort((a, b) => a.index - b.index);
  const keptY = Float64Array.from(kept, (i) => y[i]);
  return {
    x: Float64Array.from(kept, (i) => x[i]),
    y: keptY,
    index: Int32Array.from(kept),
    leftOut,
    noise: secondDifferenceNoise(keptY, undefined, 1),
    smooth: runningMedian(keptY, HALF_WINDOW),
  };
}

function keepPlausible(
  y: Float64Array,
  quantity: AgeingQuantity,
  options: CleanOptions,
  leftOut: { index: number; reason: LeftOutReason }[],
): number[] {
  const capacity = quantity === 'capacity';
  const positive = Float64Array.from(y.filter((value) => value > 0 && value < Infinity)).sort();
  const usual = positive[Math.floor((capacity ? 0.9 : 0.5) * (positive.length - 1))];
  const reference = options.rated ?? usual;
  const most = (options.above ?? (capacity ? 1.2 : 5)) * reference;
  const least = (options.below ?? (capacity ? 0.3 : 0.2)) * reference;
  const kept: number[] = [];
  for (let i = 0; i < y.length; i++) {
    const value = y[i];
    if (!Number.isFinite(value)) leftOut.push({ index: i, reason: 'missing' });
    else if (value <= 0) leftOut.push({ index: i, reason: 'zero' });
    else if (value > most) leftOut.push({ index: i, reason: 'above-plausible-limit' });
    else if (value < least) leftOut.push({ index: i, reason: 'below-plausible-limit' });
    else kept.push(i);
  }
  markFailed(y, capacity ? 'below-plausible-limit' : 'above-plausible-limit', leftOut);
  return kept;
}

/** The indices without first values that the following ones contradict. */
function withoutOddStart(
  y: Float64Array,
  kept: readonly number[],
  leftOut: { index: number; reason: LeftOutReason }[],
): readonly number[] {
  for (let skip = MOST_START_POINTS; skip >= 1; skip--) {
    const following = kept.slice(skip, skip + FOLLOWING_POINTS).map((i) => y[i]);
    if (following.length < FOLLOWING_POINTS) continue;
    const middle = medianOf(following);
    const least = Math.max(START_SHARE * middle, 2 * (Math.max(...following) - Math.min(...following)));
    const start = kept.slice(0, skip);
    if (!start.every((i) => Math.abs(y[i] - middle) > least)) continue;
    for (const index of start) leftOut.push({ index, reason: 'unrepresentative-start' });
    return kept.slice(skip);
  }
  return kept;
}

/** So many values that stand out alike are a programme, not chance, and by so much they may differ from the first. */
const LEAST_CHECK_UPS = 2;
const ALIKE = [0.5, 2] as const;

/**
 * Whether the first value stands out from those that follow it as the check-ups of the series do. The running median does not
 * judge it, and the limits would refer to it.
 */
function beginsWithCheckUp(values: Float64Array, healthy: 1 | -1, recoveries: readonly number[]): boolean {
  const following = values.slice(1, 1 + FOLLOWING_POINTS);
  if (recoveries.length < LEAST_CHECK_UPS || following.length < FOLLOWING_POINTS) return false;
  const first = healthy * (values[0] - medianOf(following));
  const usual = medianOf(recoveries);
  return first > ALIKE[0] * usual && first < ALIKE[1] * usual;
}

/**
 * Whether the last value alone lies off by more than ten times whatever the eight steps before it were, and by more than 5 %: a last
 * cycle that was broken off. The running median never judges it, and no later value confirms it.
 */
function endsOdd(values: readonly number[]): boolean {
  const last = values.slice(-END_POINTS);
  if (last.length < END_POINTS) return false;
  const steps = last.slice(1).map((value, i) => Math.abs(value - last[i]));
  const usual = Math.max(...steps.slice(0, -1));
  const final = steps[steps.length - 1];
  return final > 10 * usual && final > START_SHARE * Math.abs(last[last.length - 2]);
}

/**
 * Marks rows at the very end that all lie beyond the plausible limit on the aged side, or give no capacity at all, as those of a failed
 * cell.
 */
function markFailed(
  y: Float64Array,
  agedReason: LeftOutReason,
  leftOut: { index: number; reason: LeftOutReason }[],
): void {
  const byIndex = new Map(leftOut.map((entry) => [entry.index, entry]));
  const trailing: { index: number; reason: LeftOutReason }[] = [];
  const isAged = (reason: LeftOutReason): boolean =>
    reason === agedReason || (reason === 'zero' && agedReason === 'below-plausible-limit');
  for (let i = y.length - 1; i >= 0; i--) {
    const entry = byIndex.get(i);
    if (entry === undefined || (!isAged(entry.reason) && entry.reason !== 'missing')) break;
    if (isAged(entry.reason)) trailing.push(entry);
  }
  if (trailing.length < LEAST_FAILED) return;
  for (const entry of trailing) entry.reason = 'failed';
}

/**
 * Where the fits of one series should begin: a cell may gain capacity (or lose resistance) in its first cycles. The
 * index of the best value of the running median within the first quarter, if it stands out from the first value by more
 * than twice the noise; else 0.
 */
export function endOfInitialRise(
  series: Pick<CleanSeries, 'smooth' | 'noise'>,
  quantity: AgeingQuantity,
): number {
  const { smooth, noise } = series;
  const healthy = quantity === 'capacity' ? 1 : -1;
  let best = 0;
  for (let i = 1; i < smooth.length / 4; i++) if (healthy * (smooth[i] - smooth[best]) > 0) best = i;
  return healthy * (smooth[best] - smooth[0]) > 2 * noise ? best : 0;
}
