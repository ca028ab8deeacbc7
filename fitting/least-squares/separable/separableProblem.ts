import type { CovarianceScale, FitParameter } from '../types.ts';

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

/** The column model of a data set, made on first use; null where there is none. */
export type ColumnSource = (() => ColumnModel) | null;

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
