import type { AgeingPoints } from './points.ts';

/** Groups of neighbouring points that the start is sought on. */
const BLOCKS = 24;
/** Most groups that come of it: points are whole, and 47 of them make 47 groups of one. */
const MOST_BLOCKS = 2 * BLOCKS;

/** One sense is left out where the other takes off more by this many variances of a group sum: three standard deviations. */
const OPEN = 9;

/**
 * Logarithms of the tabulated rates: every factor of 1.3 from the least to the most that groups can show. Only every second is
 * looked at in the search; those between serve the interpolation around the best.
 */
const STEP = Math.log(1.3);
const TABLE_RATES = Array.from({ length: 21 }, (_, i) => Math.log(0.35) + i * STEP);

/**
 * For a number of equally spaced groups: the unit vectors e of exp(−k·u), freed of constant and slope. Growths are their mirror
 * images, so e is kept as its even part (first half of a row) and its odd part (second half), each over half the groups: one row
 * serves both senses.
 */
const tables = new Map<number, Float64Array>();
/** Work arrays: the group sums, their even and odd parts, and the products of these with those of the directions. */
const sums = new Float64Array(MOST_BLOCKS);
const even = new Float64Array(BLOCKS);
const odd = new Float64Array(BLOCKS);
const evenProducts = new Float64Array(TABLE_RATES.length);
const oddProducts = new Float64Array(TABLE_RATES.length);

/** Where to start: the logarithm of the rate per range of x, and whether it is a decay (1) or a growth (−1). */
export interface ExponentialStart {
  readonly logRate: number;
  readonly sense: 1 | -1;
  /** What it takes off the sum of squares of the group sums, beyond a straight line. */
  readonly gain: number;
}

/**
 * Starts from sums over groups of equally many neighbouring points; the last points that fill no group are left off. On equally
 * spaced points of equal weight the sum of an exponential over a group is the exponential at its middle times a factor that all
 * groups share, so nothing is lost but what tells the points of a group apart.
 *
 * With a table of unit directions, what a rate takes off the sum of squares is the square of its product with the data; a quartic
 * through five products around the best gives the place between two rates. Decay and growth both come back where the noise leaves
 * open which of them is better, otherwise the better one alone.
 *
 * The work arrays are shared by all calls: allocated for each call they would cost more than all products together.
 *
 * @param points equally spaced, of equal weight, at least 5
 */
export function exponentialStarts(points: AgeingPoints): ExponentialStart[] {
  const { y, offsetY } = points;
  const size = Math.max(1, Math.floor(y.length / BLOCKS));
  const count = Math.floor(y.length / size);
  sumGroups(y, offsetY, size, count);
  foldData(count);
  const table = tableOf(count);
  const half = (count + 1) >> 1;
  for (let t = 0; t < TABLE_RATES.length; t += 2) multiply(table, half, t);
  const perRange = Math.log((y.length - 1) / ((count - 1) * size));
  const decay = peakOf(table, half, 1, perRange);
  const growth = peakOf(table, half, -1, perRange);
  const rest = Math.max(0, squaresWithoutLine(count) - Math.max(decay.gain, growth.gain));
  const open = (OPEN * rest) / (count - 4);
  if (decay.gain - growth.gain > open) return [decay];
  if (growth.gain - decay.gain > open) return [growth];
  return [decay, growth];
}

/** Product of the data with the direction of one sense in row `t`. */
function productAt(t: number, sense: number): number {
  return evenProducts[t] + sense * oddProducts[t];
}

/** The rate of one sense that takes off most. */
function peakOf(table: Float64Array, half: number, sense: 1 | -1, perRange: number): ExponentialStart {
  let best = 0;
  let most = -1;
  for (let t = 0; t < TABLE_RATES.length; t += 2) {
    const here = Math.abs(productAt(t, sense));
    if (here > most) {
      most = here;
      best = t;
    }
  }
  // Five rates are needed around the best; at an end of the table they are the last five.
  const middle = Math.min(Math.max(best, 2), TABLE_RATES.length - 3);
  multiply(table, half, middle - 1);
  multiply(table, half, middle + 1);
  const { place, size } = quarticPeak(middle, sense, best - middle);
  return { logRate: TABLE_RATES[middle] + place * STEP + perRange, sense, gain: size * size };
}

/** Sum of squares of the group sums about their own straight line. */
function squaresWithoutLine(count: number): number {
  let sum = 0;
  let moment = 0;
  let squares = 0;
  for (let b = 0; b < count; b++) {
    sum += sums[b];
    moment += sums[b] * (b - (count - 1) / 2);
    squares += sums[b] * sums[b];
  }
  return squares - (sum * sum) / count - (moment * moment * 12) / (count * (count * count - 1));
}

function sumGroups(y: Float64Array, offsetY: number, size: number, count: number): void {
  for (let b = 0, i = 0; b < count; b++) {
    const end = i + size;
    // Two sums side by side: one alone waits for each of its additions.
    let sum = 0;
    let other = 0;
    for (; i < end - 1; i += 2) {
      sum += y[i] - offsetY;
      other += y[i + 1] - offsetY;
    }
    if (i < end) sum += y[i++] - offsetY;
    sums[b] = sum + other;
  }
}

/** Sums and differences of what lies equally far from the two ends; the middle of an odd count is a sum of one, without difference. */
function foldData(count: number): void {
  const half = (count + 1) >> 1;
  for (let i = 0, j = count - 1; i < half; i++, j--) {
    even[i] = i < j ? sums[i] + sums[j] : sums[i];
    odd[i] = sums[i] - sums[j];
  }
}

/** Products of the data with the even and the odd part of direction `t`. */
function multiply(table: Float64Array, half: number, t: number): void {
  const row = 2 * half * t;
  let evenSum = 0;
  let oddSum = 0;
  for (let i = 0; i < half; i++) {
    evenSum += table[row + i] * even[i];
    oddSum += table[row + half + i] * odd[i];
  }
  evenProducts[t] = evenSum;
  oddProducts[t] = oddSum;
}

/**
 * The place, in steps of the table from `middle`, where the quartic through the products at middle − 2 … middle + 2 is largest in
 * size near `from`, and that size: Newton's method on its derivative. Where that does not rise, `from` itself.
 */
function quarticPeak(middle: number, sense: number, from: number): { place: number; size: number } {
  const a = productAt(middle - 2, sense);
  const b = productAt(middle - 1, sense);
  const c = productAt(middle, sense);
  const d = productAt(middle + 1, sense);
  const e = productAt(middle + 2, sense);
  const c1 = (a - 8 * b + 8 * d - e) / 12;
  const c2 = (-a + 16 * b - 30 * c + 16 * d - e) / 24;
  const c3 = (-a + 2 * b - 2 * d + e) / 12;
  const c4 = (a - 4 * b + 6 * c - 4 * d + e) / 24;
  let t = from;
  for (let round = 0; round < 3; round++) {
    const move = (c1 + t * (2 * c2 + t * (3 * c3 + t * 4 * c4))) / (2 * c2 + t * (6 * c3 + t * 12 * c4));
    if (!Number.isFinite(move)) break;
    t = Math.min(Math.max(t - move, -2), 2);
  }
  const there = Math.abs(c + t * (c1 + t * (c2 + t * (c3 + t * c4))));
  const before = Math.abs(productAt(middle + from, sense));
  return there >= before ? { place: t, size: there } : { place: from, size: before };
}

function tableOf(count: number): Float64Array {
  const known = tables.get(count);
  if (known !== undefined) return known;
  const half = (count + 1) >> 1;
  const table = new Float64Array(TABLE_RATES.length * 2 * half);
  TABLE_RATES.forEach((logRate, t) => {
    const k = Math.exp(logRate);
    const e = unitWithoutLine(
      Float64Array.from({ length: count }, (_, i) => Math.exp((-k * i) / (count - 1))),
    );
    for (let i = 0, row = 2 * half * t; i < half; i++, row++) {
      table[row] = (e[i] + e[count - 1 - i]) / 2;
      table[row + half] = (e[i] - e[count - 1 - i]) / 2;
    }
  });
  tables.set(count, table);
  return table;
}

/** Takes constant and slope off values at equally spaced positions and scales to unit length. */
function unitWithoutLine(values: Float64Array): Float64Array {
  const n = values.length;
  const middle = (n - 1) / 2;
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const sxx = (n * (n * n - 1)) / 12;
  const slope = values.reduce((sum, value, i) => sum + value * (i - middle), 0) / sxx;
  const rest = values.map((value, i) => value - mean - slope * (i - middle));
  const length = Math.sqrt(rest.reduce((sum, value) => sum + value * value, 0));
  return rest.map((value) => value / length);
}
