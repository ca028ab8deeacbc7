import { MAD_TO_STANDARD_DEVIATION, medianOf, secondDifferenceNoise } from '../numeric/index.ts';
import { FADE_SHAPES, type FadeShape } from './fadeShapes.ts';
import type { AgeingPoints } from './points.ts';

/** One shape fitted to a series, over u = x / (last x). */
export interface ShapeFit {
  readonly shape: FadeShape;
  readonly coefficients: Float64Array;
  /** Lower triangle of the Cholesky factor of the coefficients' precision, row by row. */
  readonly precisionRoot: Float64Array;
  /** Weighted mean square of the residuals, noise floor included. */
  readonly meanSquare: number;
  /** Belief after the data are seen; all kept fits together: 1. */
  readonly weight: number;
}

/** All shapes that the data leave open. */
export interface ShapeFits {
  readonly fits: readonly ShapeFit[];
  /** Number of independent points the series is worth. */
  readonly independent: number;
  /** Correlation of neighbouring residuals, 0…0.95: the part of the scatter that is not noise of single measurements. */
  readonly correlation: number;
}

/** Most means the series is condensed to. */
const MOST_MEANS = 60;
/** No more independent points than this count in the comparison of shapes: no real cell follows one of them exactly. */
const MOST_INDEPENDENT = 30;
const LEAST_INDEPENDENT = 5;
/** Fewer points than this leave only lines and powers open, and the scatter about a straight line is taken as noise. */
const ALL_SHAPES_POINTS = 8;
const STRAIGHT_LINE = FADE_SHAPES.findIndex(({ family, fill }) => {
  const row = new Float64Array(4);
  if (family === 'power') fill(2, row);
  return Math.abs(row[1] - 2) < 1e-9;
});
/** Correlation costs a little less than it would a mean: part of it is the shape's own misfit, which `ownForecast` allows for. Ours. */
const CORRELATION_POWER = 0.8;
/** Share of the noise of the means below which no shape earns credit. */
const NOISE_FLOOR_SHARE = 0.02;
/** Residuals below this share of the level are rounding: how they follow one another says nothing. */
const ROUNDING_SHARE = 1e-8;
/** Fits that together hold this share of the belief are kept. */
const KEPT_BELIEF = 0.99;
const HUBER = 1.345;
/** Independent points that count while the robust weights are found. */
const FIRST_ROUND_POINTS = 10;

interface Means {
  readonly u: Float64Array;
  readonly y: Float64Array;
  /** Points behind each mean times u: what is near the end says more about what comes. */
  readonly weights: Float64Array;
  /** Variance of a mean by the noise of single measurements. */
  readonly variance: number;
  /** Shapes with more coefficients than this take no part. */
  readonly mostCoefficients: number;
}

function meansOf({ x, y }: AgeingPoints): Means {
  const n = x.length;
  const count = Math.min(n, MOST_MEANS);
  const end = x[n - 1];
  const u = new Float64Array(count);
  const middle = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let b = 0; b < count; b++) {
    const from = Math.ceil((b * n) / count);
    const to = Math.ceil(((b + 1) * n) / count);
    let sum = 0;
    for (let i = from; i < to; i++) sum += x[i];
    u[b] = sum / (to - from) / end;
    middle[b] = medianOf(y.subarray(from, to));
    weights[b] = (to - from) * u[b];
  }
  const mostCoefficients = n < ALL_SHAPES_POINTS ? 2 : Infinity;
  return { u, y: middle, weights, variance: (secondDifferenceNoise(y) ** 2 * count) / n, mostCoefficients };
}

interface RawFit {
  readonly coefficients: Float64Array;
  readonly root: Float64Array;
  readonly square: number;
}

/**
 * Fits every shape of `FADE_SHAPES` to a series and weighs them by their likelihood: a Bayesian average over shapes
 * (J. A. Hoeting et al., Statistical Science 14 (1999) 382) with the approximation of Schwarz for the linear coefficients.
 * Neighbouring residuals that err alike make the series worth fewer points. Means that lie off the best shape count
 * less (Huber).
 *
 * @param points at least 3
 * @param towards −1 where the series falls towards its limit, 1 where it rises
 * @returns null where no shape goes towards the limit
 */
export function fitShapes(points: AgeingPoints, towards: -1 | 1): ShapeFits | null {
  const means = meansOf(points);
  const rows = columnsAt(means.u);
  const first = fitAll(means, rows, means.weights);
  const leader = best(first, towards, FIRST_ROUND_POINTS, means);
  if (leader === null) return null;
  const residuals = residualsOf(leader, rows[first.indexOf(leader)], means);
  const scale = Math.max(
    MAD_TO_STANDARD_DEVIATION * medianOf(residuals.map(Math.abs)),
    Math.sqrt(means.variance),
  );
  const huber = residuals.map((r) => Math.min(1, (HUBER * scale) / Math.max(Math.abs(r), 1e-300)));
  const weights = means.weights.map((w, i) => w * huber[i]);
  const raw = fitAll(means, rows, weights);
  const second = best(raw, towards, FIRST_ROUND_POINTS, means) ?? raw[0];
  const final = residualsOf(second, rows[raw.indexOf(second)], means);
  const correlation = second.square > (ROUNDING_SHARE * means.y[0]) ** 2 ? correlationOf(final, huber) : 0;
  const independent = Math.min(independentPoints(weights, correlation), points.x.length);
  return { fits: weigh(raw, towards, independent, means), independent, correlation };
}

function columnsAt(u: Float64Array): Float64Array[] {
  return FADE_SHAPES.map((shape) => {
    const table = new Float64Array(shape.size * u.length);
    for (let i = 0; i < u.length; i++) shape.fill(u[i], table.subarray(i * shape.size, (i + 1) * shape.size));
    return table;
  });
}

function fitAll(means: Means, rows: readonly Float64Array[], weights: Float64Array): RawFit[] {
  const total = weights.reduce((sum, w) => sum + w, 0);
  const shares = weights.map((w) => w / total);
  return FADE_SHAPES.map((shape, k) => fitOne(shape.size, rows[k], means.y, shares));
}

/** Weighted least squares by Cholesky's factor of the normal matrix, its diagonal grown by a rounding error. */
function fitOne(size: number, rows: Float64Array, y: Float64Array, shares: Float64Array): RawFit {
  const gram = new Float64Array(size * size);
  const right = new Float64Array(size);
  const offset = y[y.length >> 1];
  for (let i = 0; i < y.length; i++) {
    const at = i * size;
    for (let a = 0; a < size; a++) {
      const wa = shares[i] * rows[at + a];
      right[a] += wa * (y[i] - offset);
      for (let b = 0; b <= a; b++) gram[a * size + b] += wa * rows[at + b];
    }
  }
  const root = choleskyRoot(gram, size);
  const coefficients = backwards(root, forwards(root, right, size), size);
  let square = 0;
  for (let i = 0; i < y.length; i++) {
    let value = y[i] - offset;
    for (let a = 0; a < size; a++) value -= coefficients[a] * rows[i * size + a];
    square += shares[i] * value * value;
  }
  coefficients[0] += offset;
  return { coefficients, root, square };
}

function choleskyRoot(gram: Float64Array, size: number): Float64Array {
  const root = new Float64Array(size * size);
  for (let a = 0; a < size; a++) {
    for (let b = 0; b <= a; b++) {
      let sum = gram[a * size + b];
      if (a === b) sum *= 1 + 1e-11;
      for (let c = 0; c < b; c++) sum -= root[a * size + c] * root[b * size + c];
      root[a * size + b] = a === b ? Math.sqrt(Math.max(sum, 1e-14)) : sum / root[b * size + b];
    }
  }
  return root;
}

/** Solves L z = v. */
export function forwards(root: Float64Array, v: ArrayLike<number>, size: number): Float64Array {
  const z = new Float64Array(size);
  for (let a = 0; a < size; a++) {
    let sum = v[a];
    for (let b = 0; b < a; b++) sum -= root[a * size + b] * z[b];
    z[a] = sum / root[a * size + a];
  }
  return z;
}

/** Solves Lᵀ x = z. */
export function backwards(root: Float64Array, z: ArrayLike<number>, size: number): Float64Array {
  const x = new Float64Array(size);
  for (let a = size - 1; a >= 0; a--) {
    let sum = z[a];
    for (let b = a + 1; b < size; b++) sum -= root[b * size + a] * x[b];
    x[a] = sum / root[a * size + a];
  }
  return x;
}

function residualsOf({ coefficients }: RawFit, rows: Float64Array, means: Means): Float64Array {
  const size = coefficients.length;
  return means.y.map((value, i) => {
    let left = value;
    for (let a = 0; a < size; a++) left -= coefficients[a] * rows[i * size + a];
    return left;
  });
}

function correlationOf(residuals: Float64Array, huber: Float64Array): number {
  let square = 0;
  let product = 0;
  for (let i = 0; i < residuals.length; i++) {
    const here = residuals[i] * Math.sqrt(huber[i]);
    square += here * here;
    if (i > 0) product += here * residuals[i - 1] * Math.sqrt(huber[i - 1]);
  }
  const rho = square > 0 ? product / square : 0;
  return rho > 2 / Math.sqrt(residuals.length) ? Math.min(rho, 0.95) : 0;
}

function independentPoints(weights: Float64Array, correlation: number): number {
  let sum = 0;
  let squares = 0;
  for (const w of weights) {
    sum += w;
    squares += w * w;
  }
  return Math.max(
    ((sum * sum) / squares) * ((1 - correlation) / (1 + correlation)) ** CORRELATION_POWER,
    LEAST_INDEPENDENT,
  );
}

/** Whether the curve is what its family represents, and goes towards its limit at the end of the data. */
function goesOn(shape: FadeShape, coefficients: Float64Array, towards: number): boolean {
  if (shape.signs.some((sign, a) => sign * coefficients[a] * towards < 0)) return false;
  const step = 1e-3;
  const before = new Float64Array(shape.size);
  const after = new Float64Array(shape.size);
  shape.fill(1 - step, before);
  shape.fill(1 + step, after);
  let slope = 0;
  for (let a = 1; a < shape.size; a++) slope += coefficients[a] * (after[a] - before[a]);
  return slope * towards > 0;
}

/** Mean square of the residuals that is believed: not less than a share of the noise, nor, of a few points, than a line's. */
function scatterOf(square: number, raw: readonly RawFit[], means: Means): number {
  if (means.mostCoefficients === 2) return Math.max(square, raw[STRAIGHT_LINE].square);
  return square + NOISE_FLOOR_SHARE * means.variance;
}

function logWeights(raw: readonly RawFit[], towards: number, independent: number, means: Means): number[] {
  const counted = Math.min(independent, MOST_INDEPENDENT);
  return raw.map(({ coefficients, square }, k) => {
    const shape = FADE_SHAPES[k];
    if (shape.size > means.mostCoefficients) return -Infinity;
    if (!Number.isFinite(square) || !goesOn(shape, coefficients, towards)) return -Infinity;
    const floored = Math.max(scatterOf(square, raw, means), Number.MIN_VALUE);
    return (
      Math.log(shape.prior) - 0.5 * counted * Math.log(floored) - 0.5 * (shape.size - 2) * Math.log(counted)
    );
  });
}

function best(raw: readonly RawFit[], towards: number, independent: number, means: Means): RawFit | null {
  const logs = logWeights(raw, towards, independent, means);
  const most = Math.max(...logs);
  return most === -Infinity ? null : raw[logs.indexOf(most)];
}

function weigh(raw: readonly RawFit[], towards: number, independent: number, means: Means): ShapeFit[] {
  const logs = logWeights(raw, towards, independent, means);
  const most = Math.max(...logs);
  if (most === -Infinity) return [];
  const beliefs = logs.map((value) => Math.exp(value - most));
  const total = beliefs.reduce((sum, belief) => sum + belief, 0);
  const order = Array.from(beliefs.keys()).sort((a, b) => beliefs[b] - beliefs[a]);
  const kept: number[] = [];
  let held = 0;
  for (const k of order) {
    if (held > KEPT_BELIEF * total) break;
    held += beliefs[k];
    kept.push(k);
  }
  return kept.map((k) => ({
    shape: FADE_SHAPES[k],
    coefficients: raw[k].coefficients,
    precisionRoot: raw[k].root,
    meanSquare: scatterOf(raw[k].square, raw, means),
    weight: beliefs[k] / held,
  }));
}
