import type { FitResult } from '../types.ts';
import { type CheckedSeparable, checkSeparable } from './checkSeparable.ts';
import { SeparableIteration } from './separableIteration.ts';
import type {
  NonlinearBounds,
  SeparableModel,
  SeparableOptions,
  SeparableShape,
} from './separableProblem.ts';
import { solveSeparable } from './solveSeparable.ts';

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
