import { type CheckedSeparable, checkSeparable } from './checkSeparable.ts';
import { SeparableIteration } from './separableIteration.ts';
import { solveSeparable } from './solveSeparable.ts';
import type { CovarianceScale, FitParameter, FitResult } from './types.ts';

/**
 * A parameter that enters linearly: yᵢ = … + c·φ(xᵢ; nonlinear). Its value is solved for, so it has no start.
 */
export interface LinearParameter {
  readonly name: string;
  readonly unit: string;
  /** Enforced (active set) and reported as `at-lower-bound`. Default −∞. */
  readonly min?: number;
  /** Default +∞. */
  readonly max?: number;
}

/**
 * A nonlinear parameter, in whatever parametrisation the caller's model uses (e.g. the logarithm of a time
 * constant).
 */
export interface NonlinearParameter extends FitParameter {
  /** Largest change in one iteration; default: no limit. About 1.5 suits a logarithm. */
  readonly maxStep?: number;
}

/** Says that basis column `basis` depends on nonlinear parameter `nonlinear` (both are indices). */
export interface BasisDerivative {
  readonly basis: number;
  readonly nonlinear: number;
}

/**
 * The structure shared by all data sets of one kind: p linear, q nonlinear parameters, d derivative columns.
 */
export interface SeparableShape {
  readonly linear: readonly LinearParameter[];
  readonly nonlinear: readonly NonlinearParameter[];
  /** One entry for each non-zero ∂φⱼ/∂θₖ; their order is the order of the derivative columns. */
  readonly derivatives: readonly BasisDerivative[];
}

/** The plain way to give a model: fill the columns at the points. */
export interface ColumnModel {
  readonly y: Float64Array;
  /** 1/σ² of each point; default 1. The engine applies them; `fill` gives unweighted columns. */
  readonly weights?: Float64Array;
  /**
   * Fills basis[j][i] = φⱼ(xᵢ; θ) and derivatives[e][i] = ∂φ/∂θ of the e-th entry of `shape.derivatives`. The
   * arrays keep their content between calls of one `solve`, so constant columns need filling only where
   * `first` is true.
   */
  fill(
    nonlinear: Float64Array,
    basis: readonly Float64Array[],
    derivatives: readonly Float64Array[],
    first: boolean,
  ): void;
}

/** The quick way: accumulate the Gram sums in one pass over the samples. */
export interface GramModel {
  /** Samples of positive weight. */
  readonly points: number;
  /**
   * Writes the weighted sums of products of the columns Z = [basis 0…p−1, derivative columns p…p+d−1, y] into
   * `gram[i·side + j]` for i ≤ j, side = p + d + 1 (the lower triangle is not read). Write every entry in
   * each pass: the array may hold another pass's sums. Take a constant near the mean off y first where y has
   * one: the sum of squares then keeps its digits.
   */
  accumulate(nonlinear: Float64Array, gram: Float64Array): void;
  /**
   * The same model as columns (or a function that makes it when needed), for the finish by QR where Gram sums
   * lose too many digits.
   */
  readonly columns?: ColumnModel | (() => ColumnModel);
}

export type SeparableModel = ColumnModel | GramModel;

/** Settings, all with defaults. */
export interface SeparableOptions {
  /** Accepted and rejected steps of one start. Default 60. */
  readonly maxIterations?: number;
  /**
   * Stop when ‖P r‖ ≤ offsetTolerance·‖r‖ (see `Termination`), or when the closing step, which costs no pass,
   * is expected to get there. The result's `relativeOffset` is the one before the closing step. Default 1e-6.
   */
  readonly offsetTolerance?: number;
  /** How many of the given starts, the best by their cost, are iterated. Default 3. */
  readonly refine?: number;
  /** Default `residual`. */
  readonly covarianceScale?: CovarianceScale;
  /**
   * Finish by QR on the full Jacobian: `auto` (where Gram sums lose digits and columns are given), `always`,
   * `never`.
   */
  readonly polish?: 'auto' | 'always' | 'never';
}

/** Bounds of the nonlinear parameters for one data set, in place of those of the shape. */
export interface NonlinearBounds {
  readonly min: ArrayLike<number>;
  readonly max: ArrayLike<number>;
}

/**
 * A solver for one shape. It owns its work arrays: reuse it for many data sets, but not from within its own
 * model.
 */
export interface SeparableSolver {
  /**
   * @param model columns or Gram sums of one data set
   * @param starts one or more nonlinear starts (a grid, random draws); each is pulled inside the bounds.
   * Default: the shape's.
   * @param bounds default: the shape's
   * @returns parameters in the order linear, then nonlinear; the covariance is of all of them together (from
   * the full Jacobian, never conditional on the nonlinear ones); `evaluations` counts passes over the samples
   * @throws RangeError for lengths that do not match, negative weights or non-finite data
   */
  solve(model: SeparableModel, starts?: readonly ArrayLike<number>[], bounds?: NonlinearBounds): FitResult;
}

/**
 * Makes a solver for separable least squares (variable projection): y ≈ Σⱼ cⱼ φⱼ(x; θ). For each θ the linear
 * parameters c are solved exactly; a damped Gauss–Newton iteration runs on θ alone, inside its bounds.
 *
 * Source of the method: Golub and Pereyra 1973, Kaufman 1975 (see `gramProjection.ts`); damping after
 * Marquardt 1963.
 *
 * @example One exponential with an offset, y = c0 + c1·exp(−x/τ), τ as its logarithm:
 * ```ts
 * const solver = createSeparableSolver({
 *   linear: [{ name: 'offset', unit: 'V' }, { name: 'amplitude', unit: 'V', min: 0 }],
 *   nonlinear: [{ name: 'logTau', unit: '1', start: Math.log(10), min: Math.log(0.1), max: Math.log(1e4),
 * maxStep: 1.5 }],
 *   derivatives: [{ basis: 1, nonlinear: 0 }],
 * });
 * const result = solver.solve({
 *   y,
 *   fill(theta, basis, derivatives, first) {
 *     const tau = Math.exp(theta[0]);
 *     for (let i = 0; i < x.length; i++) {
 *       if (first) basis[0][i] = 1;
 *       const decay = Math.exp(-x[i] / tau);
 *       basis[1][i] = decay;
 *       derivatives[0][i] = (decay * x[i]) / tau; // ∂φ₁/∂ log τ
 *     }
 *   },
 * }, [[0], [2], [4]]);
 * ```
 * The quick way does the same sums itself: `{ points, accumulate(theta, gram) { … } }` with side = 2 + 1 + 1
 * = 4, the columns in the order 1, exp, its derivative, y, and `gram[i * 4 + j]` written for i ≤ j.
 *
 * @throws RangeError naming the field, for a shape or an option that cannot be
 */
export function createSeparableSolver(
  shape: SeparableShape,
  options: SeparableOptions = {},
): SeparableSolver {
  const checked: CheckedSeparable = checkSeparable(shape, options);
  const iteration = new SeparableIteration(checked);
  return {
    solve: (model, starts, bounds) => solveSeparable(iteration, model, starts, bounds),
  };
}
