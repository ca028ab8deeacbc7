import {
  applyQ,
  applyQTransposed,
  curvatureFromQr,
  ExactSum,
  factorQr,
  type QrFactor,
  solveR,
  solveRTransposed,
} from '../../numeric/index.ts';
import { assembleResult } from '../inference/assembleResult.ts';
import type { CovarianceScale, FitResult } from '../types.ts';

/** y ≈ Σ cⱼ columns[j]; weights are 1/σ², a point of weight 0 takes no part. */
export interface LinearProblem {
  readonly columns: readonly Float64Array[];
  readonly y: Float64Array;
  readonly weights?: Float64Array;
  /** Default c1, c2, …, unit 1. */
  readonly parameters?: readonly { readonly name: string; readonly unit: string }[];
}

export interface LinearOptions {
  readonly covarianceScale?: CovarianceScale;
  /** Length left of a column of unit length below which it is dependent on the others. Default 1e-12. */
  readonly rankTolerance?: number;
}

const REFINEMENTS = 4;

/**
 * Linear least squares by Householder QR with column scaling and pivoting, refined by Björck's iteration on
 * the augmented system with residuals in doubled precision (Björck, BIT 7 (1967) 322), so that the digits are
 * those of the problem and not of the solver.
 *
 * With deficient rank the basic solution is returned (dependent columns get 0), `rank` says so, and every
 * parameter that takes part in the dependence has the reason `not-identifiable`.
 *
 * @throws RangeError for lengths that differ, negative weights or non-finite data
 */
export function fitLinear(problem: LinearProblem, options: LinearOptions = {}): FitResult {
  check(problem);
  const { columns, y, weights } = problem;
  const count = columns.length;
  const kept = weights ? y.map((_, i) => i).filter((i) => weights[i] > 0) : y.map((_, i) => i);
  const root = Float64Array.from(kept, (i) => (weights ? Math.sqrt(weights[i]) : 1));
  const pick = (source: Float64Array): Float64Array => Float64Array.from(kept, (i, k) => source[i] * root[k]);
  const matrix = columns.map(pick);
  const right = pick(y);
  const factor = factorQr(
    matrix.map((column) => column.slice()),
    options.rankTolerance,
  );
  const { solution, residual } = refine(matrix, right, factor);
  const cost = new ExactSum();
  for (const rest of residual) cost.addProduct(rest, rest);
  const meta = problem.parameters ?? columns.map((_, j) => ({ name: `c${j + 1}`, unit: '1' }));
  return assembleResult({
    names: meta.map((parameter) => parameter.name),
    units: meta.map((parameter) => parameter.unit),
    starts: new Array<null>(count).fill(null),
    min: new Array<number>(count).fill(-Infinity),
    max: new Array<number>(count).fill(Infinity),
    values: solution,
    states: new Array<'free'>(count).fill('free'),
    curvature: curvatureFromQr(factor),
    residualSumOfSquares: cost.value,
    points: kept.length,
    termination: 'gradient',
    iterations: 1,
    evaluations: 1,
    relativeOffset: offsetOf(factor, residual, cost.value),
    engine: 'linear',
    covarianceScale: options.covarianceScale ?? 'residual',
  });
}

function check(problem: LinearProblem): void {
  const { columns, y, weights, parameters } = problem;
  if (columns.length === 0) throw new RangeError('columns must hold at least one column');
  if (parameters && parameters.length !== columns.length) {
    throw new RangeError(`parameters names ${parameters.length} columns, there are ${columns.length}`);
  }
  const named: [string, Float64Array][] = [
    ['y', y],
    ...columns.map((c, j): [string, Float64Array] => [`columns[${j}]`, c]),
  ];
  if (weights) named.push(['weights', weights]);
  for (const [name, values] of named) {
    if (values.length !== y.length)
      throw new RangeError(`${name} holds ${values.length} values and y ${y.length}`);
    values.forEach((value, i) => {
      if (!Number.isFinite(value)) throw new RangeError(`${name}[${i}] is ${value}: it must be finite`);
      if (name === 'weights' && value < 0)
        throw new RangeError(`weights[${i}] is ${value}: it must not be negative`);
    });
  }
}

/** Solves and refines; a round is kept only while the corrections shrink. */
function refine(
  matrix: readonly Float64Array[],
  right: Float64Array,
  factor: QrFactor,
): { solution: Float64Array; residual: Float64Array } {
  const inRank = new Set(factor.permutation.subarray(0, factor.rank));
  let solution = solveWith(factor, right, new Float64Array(matrix.length)).change;
  let residual = residualOf(matrix, right, solution);
  let last = Infinity;
  for (let round = 0; round < REFINEMENTS; round++) {
    // Augmented system r + Xc = y, Xᵀr = 0: its defects (f, g) in doubled precision.
    const f = Float64Array.from(right, (value, i) => {
      const sum = new ExactSum(value);
      sum.add(-residual[i]);
      matrix.forEach((column, j) => {
        sum.addProduct(-column[i], solution[j]);
      });
      return sum.value;
    });
    const g = Float64Array.from(matrix, (column, j) => {
      if (!inRank.has(j)) return 0;
      const sum = new ExactSum();
      for (let i = 0; i < residual.length; i++) sum.addProduct(-column[i], residual[i]);
      return sum.value;
    });
    const { change, residualChange } = solveWith(factor, f, g);
    let size = 0;
    change.forEach((delta, j) => {
      size = Math.max(size, Math.abs(delta) / (Math.abs(solution[j]) || 1));
    });
    if (!(size < 0.5 * last)) break;
    last = size;
    solution = solution.map((value, j) => value + change[j]);
    residual = residual.map((value, i) => value + residualChange[i]);
    if (size < 1e-16) break;
  }
  return { solution, residual: residualOf(matrix, right, solution) };
}

function residualOf(
  matrix: readonly Float64Array[],
  right: Float64Array,
  solution: Float64Array,
): Float64Array {
  return Float64Array.from(right, (value, i) => {
    const sum = new ExactSum(value);
    matrix.forEach((column, j) => {
      sum.addProduct(-column[i], solution[j]);
    });
    return sum.value;
  });
}

/** Solves δr + Xδc = f, Xᵀδr = g with X = QR: h = R⁻ᵀg, (d₁, d₂) = Qᵀf, Rδc = d₁ − h, δr = Q(h, d₂). */
function solveWith(
  factor: QrFactor,
  f: Float64Array,
  g: Float64Array,
): { change: Float64Array; residualChange: Float64Array } {
  const { rank } = factor;
  const h = solveRTransposed(factor, g);
  const rotated = f.slice();
  applyQTransposed(factor, rotated);
  const upper = rotated.slice();
  for (let k = 0; k < rank; k++) upper[k] -= h[k];
  const change = solveR(factor, upper);
  for (let k = 0; k < rank; k++) rotated[k] = h[k];
  applyQ(factor, rotated);
  return { change, residualChange: rotated };
}

function offsetOf(factor: QrFactor, residual: Float64Array, cost: number): number {
  if (!(cost > 0)) return 0;
  const rotated = residual.slice();
  applyQTransposed(factor, rotated);
  let inside = 0;
  for (let k = 0; k < factor.rank; k++) inside += rotated[k] * rotated[k];
  return Math.sqrt(Math.min(1, inside / cost));
}
