import type { FitResult } from '../least-squares/index.ts';
import { dotProduct } from '../numeric/index.ts';
import type { LogProblem } from './logProblem.ts';

/** Shapes of an error that a whole curve shares: a constant, half a wave over the range that the logs went through, then one, and so on. */
const SHAPES = 7;
/** The variance of a shape falls with its number to this power, as that of a curve without corners does; common practice, no source. */
const FALL = 4;
const PARTS = Array.from({ length: SHAPES }, (_, shape) => Math.max(1, shape) ** -FALL);
/** Of the stated variance, by shape. */
const SHARES = PARTS.map((part) => part / PARTS.reduce((sum, one) => sum + one, 0));
/** A curve's error is looked for from the stated one up to this many times it. */
const MOST_TIMES = 16;
const STEPS = 41;
/** Before the log is seen, an error of more than x times the stated one has the probability x to minus this power; no source. */
const STATED_POWER = 2;

/** Share of a curve's stated uncertainty that its points do not have in common, while the error they share is looked for; no source. */
export const FROM_POINT_TO_POINT = 0.25;

/** What a smooth error of the open-circuit curves does to a fit. */
export interface CurveErrors {
  /** Variance that it adds to a quantity with this gradient by the problem's parameters. */
  readonly varianceOf: (gradient: ArrayLike<number>) => number;
  /** By cell: standard uncertainty of the whole curve by what is stated and what the log shows, V; 0 where none is stated. */
  readonly shownV: readonly number[];
}

/** One cell's shapes: how far one standard deviation of each moves every parameter, and the means of the products of their sizes. */
interface MovedBy {
  readonly moved: readonly (readonly number[])[];
  readonly square: readonly (readonly number[])[];
}

/**
 * The part that a smooth error of each cell's open-circuit curve has in the uncertainty of what was fitted.
 *
 * The corrections of the fit count the errors of the curve's points as independent, so that many points average them away. Those of a
 * real curve (taken at another age, in one direction, before it had settled) have one sign over a wide range, and bend capacity, start SOC
 * and resistances with them. So the fitted values are moved by cosines over the visited range, which share the stated variance:
 * δp = (JᵀWJ)⁻¹ JᵀW δ, what "consider" parameters do to a linear estimate (B. D. Tapley, B. E. Schutz, G. H. Born, Statistical Orbit
 * Determination, 2004, section 6; from memory).
 *
 * How large the error is, the log says in part: what no parameter takes up of a cosine stays in corrections and residuals. Its size is
 * found from these with all parameters eliminated, by the restricted likelihood, for standard deviations from the stated one on (D. A. Harville,
 * Maximum likelihood approaches to variance component estimation, J. Am. Stat. Assoc. 72, 1977; from memory). A part that no cosine can show
 * beside the parameters, such as a curve stretched over SOC, stays as large as it is stated.
 *
 * @param weights of the fit
 * @param judging weights with which the shared error is looked for: the points' own errors are smaller in them
 */
export function curveErrors(
  problem: LogProblem,
  { parameters, covariance }: FitResult,
  weights: Float64Array,
  judging: Float64Array,
): CurveErrors {
  const shownV = problem.curveSpreadsV.map(() => 0);
  if (covariance === null || problem.curveSpreadsV.every((spread) => spread === 0))
    return { varianceOf: () => 0, shownV };
  const values = Float64Array.from(parameters, ({ value }) => value);
  const columns = parameters.map(() => new Float64Array(problem.y.length));
  problem.model.jacobian?.(values, columns);
  const free = columns.filter((_, p) => !parameters[p].fixed);
  const residual = residualOf(problem, values);
  const cells = problem.curveSpreadsV.flatMap((spreadV, cell): MovedBy[] => {
    if (spreadV === 0) return [];
    const shapes = shapesOf(problem, values, cell, spreadV);
    const square = meanSquares(withoutParameters([...free, ...shapes, residual], free.length, judging));
    shownV[cell] = spreadV * Math.sqrt(SHARES.reduce((sum, share, a) => sum + share * square[a][a], 0));
    const moved = shapes.map((shape) => {
      const weighted = shape.map((value, at) => value * weights[at]);
      const pull = columns.map((column) => dotProduct(column, weighted));
      return covariance.map((row) => row.reduce((sum, value, q) => sum + value * pull[q], 0));
    });
    return [{ moved, square }];
  });
  const varianceOf = (gradient: ArrayLike<number>): number =>
    cells.reduce((sum, { moved, square }) => {
      const by = moved.map((move) => move.reduce((all, value, p) => all + value * gradient[p], 0));
      return by.reduce((outer, a, i) => by.reduce((inner, b, j) => inner + a * b * square[i][j], outer), sum);
    }, 0);
  return { varianceOf, shownV };
}

/** y minus the model, at all points and pseudo-observations. */
function residualOf(problem: LogProblem, values: Float64Array): Float64Array {
  const model = new Float64Array(problem.y.length);
  problem.model.evaluate(values, model);
  return problem.y.map((value, at) => value - model[at]);
}

/** Errors of one cell's curve at every point of the problem, each one standard deviation at the stated uncertainty. */
function shapesOf(problem: LogProblem, values: Float64Array, cell: number, spreadV: number): Float64Array[] {
  const rows = problem.logs.flatMap(({ settled }, log) => {
    const soc = problem.socs(values, log, cell);
    const { start } = problem.range(log, cell);
    return [...settled].map((row, i) => ({ at: start + i, soc: soc[row] }));
  });
  const low = Math.min(...rows.map(({ soc }) => soc));
  const high = Math.max(...rows.map(({ soc }) => soc));
  return SHARES.map((share, shape) => {
    // The mean square of a cosine is a half.
    const amplitudeV = spreadV * Math.sqrt((shape === 0 ? 1 : 2) * share);
    const errors = new Float64Array(problem.y.length);
    for (const { at, soc } of rows)
      errors[at] = amplitudeV * Math.cos((shape * Math.PI * (soc - low)) / (high - low));
    return errors;
  });
}

/** Weighted products of the columns behind the first `count`, with these eliminated. */
function withoutParameters(
  columns: readonly Float64Array[],
  count: number,
  weights: Float64Array,
): number[][] {
  const size = columns.length;
  const products = columns.map(() => new Array<number>(size).fill(0));
  columns.forEach((one, a) => {
    const weighted = one.map((value, at) => value * weights[at]);
    for (let b = a; b < size; b++) products[a][b] = dotProduct(weighted, columns[b]);
  });
  for (let a = 0; a < count; a++) {
    const pivot = products[a][a];
    if (pivot <= 0) continue;
    for (let below = a + 1; below < size; below++) {
      const factor = products[a][below] / pivot;
      for (let b = below; b < size; b++) products[below][b] -= factor * products[a][b];
    }
  }
  return products
    .slice(count)
    .map((row, a) => row.slice(count).map((value, b) => (b >= a ? value : products[count + b][count + a])));
}

/**
 * Means of the products of the shapes' sizes, in units of the stated standard deviation, over what the residuals leave open of the error's
 * standard deviation: what they show of each shape, and the whole variance beside it, because real errors are no sum of few cosines.
 *
 * @param products of the shapes and, last, of the residuals, with the parameters eliminated
 */
function meanSquares(products: readonly (readonly number[])[]): number[][] {
  const left = products.slice(0, -1).map((row) => row.slice(0, -1));
  const seen = products.slice(0, -1).map((row) => row[row.length - 1]);
  const sizes = Array.from({ length: STEPS }, (_, step) => {
    const log = (Math.log(MOST_TIMES) * step) / (STEPS - 1);
    const s = Math.exp(2 * log);
    const { likelihood, mean } = shapesGiven(left, seen, s);
    return { log: likelihood - STATED_POWER * log, mean, s };
  });
  const most = Math.max(...sizes.map(({ log }) => log));
  const shares = sizes.map(({ log }) => Math.exp(log - most));
  const all = shares.reduce((sum, share) => sum + share, 0);
  return left.map((row, a) =>
    row.map((_, b) =>
      sizes.reduce(
        (sum, { mean, s }, step) => sum + (shares[step] / all) * (mean[a] * mean[b] + (a === b ? s : 0)),
        0,
      ),
    ),
  );
}

/** Most likely sizes of the shapes for one variance s of them, and ln of its likelihood up to a constant, by Gauss and Jordan. */
function shapesGiven(
  left: readonly (readonly number[])[],
  seen: readonly number[],
  s: number,
): { likelihood: number; mean: number[] } {
  const rows = left.map((row, a) => [...row.map((value, b) => s * value + (a === b ? 1 : 0)), s * seen[a]]);
  let likelihood = 0;
  rows.forEach((row, a) => {
    const pivot = row[a];
    likelihood -= Math.log(pivot) / 2;
    for (let b = 0; b < row.length; b++) row[b] /= pivot;
    rows.forEach((other, c) => {
      const factor = other[a];
      if (c !== a) for (let b = 0; b < row.length; b++) other[b] -= factor * row[b];
    });
  });
  const mean = rows.map((row) => row[row.length - 1]);
  const fit = mean.reduce((sum, value, a) => sum + value * seen[a], 0);
  return { likelihood: likelihood + fit / 2, mean };
}
