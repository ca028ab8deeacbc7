/**
 * One description of a least-squares problem and one result for all fits.
 *
 * The cost is the weighted sum of squares  S = Σ wᵢ (yᵢ − f(xᵢ))².  **Weights are 1/σ²** (reciprocal
 * variances, not reciprocal standard deviations). With `covarianceScale: 'residual'` only their ratios
 * matter; with `'weights'` they are taken as absolute.
 */

/** One parameter of a model. Bounds are inclusive; a `fixed` parameter keeps its start value exactly. */
export interface FitParameter {
  readonly name: string;
  /** Unit as a symbol, e.g. `Ohm`, `s`, `1` for a plain number. */
  readonly unit: string;
  readonly start: number;
  /** Default −∞. */
  readonly min?: number;
  /** Default +∞. */
  readonly max?: number;
  /** Default false. */
  readonly fixed?: boolean;
}

/**
 * A model as a pure function of its parameters at all points at once; it closes over its independent
 * variables.
 */
export interface FitModel {
  /**
   * Fills `out[i]` with the model's value at point i. Non-finite values reject the step, they do not throw.
   */
  evaluate(parameters: Float64Array, out: Float64Array): void;
  /**
   * Fills `columns[j][i]` with ∂fᵢ/∂parameterⱼ, all parameters, fixed ones included. Optional: else
   * differences.
   */
  jacobian?(parameters: Float64Array, columns: readonly Float64Array[]): void;
}

/** What is to be fitted. */
export interface FitProblem {
  readonly model: FitModel;
  readonly parameters: readonly FitParameter[];
  readonly y: Float64Array;
  /** 1/σ² of each point, ≥ 0; a point of weight 0 takes no part and does not count. Default: all 1. */
  readonly weights?: Float64Array;
}

/**
 * Why the iteration ended. δ is the last proposed step, r the weighted residuals, J the weighted Jacobian of
 * the parameters that are free to move.
 * - `gradient`: ‖P r‖ ≤ offsetTolerance·‖r‖, P projecting onto the columns of J (the relative offset of Bates
 *   and
 *   Watts 1988, 2.2.3); or every |Jⱼᵀ r| at rounding level.
 * - `step`: |δⱼ| ≤ stepTolerance·|parameterⱼ| for all j.
 * - `cost`: actual and predicted relative fall of S ≤ costTolerance.
 * - `max-iterations`: the limit was reached first, or there was no way on: the values are the best seen and not a
 *   certified optimum.
 * - `non-finite`: the model gave no finite residuals or derivatives at any start.
 */
export type Termination = 'gradient' | 'step' | 'cost' | 'max-iterations' | 'non-finite';

/** Why a standard error is missing. */
export type UncertaintyReason =
  | 'fixed'
  | 'at-lower-bound'
  | 'at-upper-bound'
  | 'not-identifiable'
  | 'too-few-points'
  | 'not-converged';

/** One parameter of a result. */
export interface ParameterEstimate {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  /** Null for a parameter that is solved for directly and needs no start. */
  readonly start: number | null;
  readonly min: number;
  readonly max: number;
  readonly fixed: boolean;
  /** Null with a `reason`. */
  readonly standardError: number | null;
  readonly reason: UncertaintyReason | null;
}

/** Which engine gave the values. */
export type FitEngine = 'linear' | 'separable' | 'library' | 'trust-region';

/** How the covariance is scaled: by S/degreesOfFreedom, or weights taken as known 1/σ². */
export type CovarianceScale = 'residual' | 'weights';

/** The complete record of a fit. Every field is always there; null means that it could not be computed. */
export interface FitResult {
  readonly parameters: readonly ParameterEstimate[];
  /**
   * Covariance of all parameters, rows and columns in the order of `parameters`. Rows of fixed parameters and
   * of parameters at a bound are 0 (the rest is conditional on them). Null where any other parameter has no
   * standard error.
   */
  readonly covariance: readonly (readonly number[])[] | null;
  /** Correlations in the same order; 0 off the diagonal for rows without variance. Null with `covariance`. */
  readonly correlation: readonly (readonly number[])[] | null;
  /** Weighted sum of squares S at the values. */
  readonly residualSumOfSquares: number | null;
  /** √(S / degreesOfFreedom); null without degrees of freedom. */
  readonly residualSd: number | null;
  /** Points of positive weight. */
  readonly points: number;
  /** Parameters that were estimated: neither fixed nor held at a bound. */
  readonly freeParameters: number;
  readonly degreesOfFreedom: number;
  readonly termination: Termination;
  /** True for `gradient`, `step` and `cost`. */
  readonly converged: boolean;
  readonly iterations: number;
  /** Evaluations of the model at all points (for the separable engine: passes over the samples). */
  readonly evaluations: number;
  /**
   * √(‖S‖₁ ‖S⁻¹‖₁) of the column-scaled JᵀJ: within a factor of the parameter count of the condition of J.
   */
  readonly condition: number | null;
  /** Numerical rank of the Jacobian of the free parameters. */
  readonly rank: number;
  /** ‖P r‖/‖r‖ at the values: how far from an optimum, as a fraction of the residual. */
  readonly relativeOffset: number | null;
  readonly engine: FitEngine;
  readonly covarianceScale: CovarianceScale;
}

/** The value of the parameter called `name`. @throws RangeError when there is none */
export function estimateOf(result: FitResult, name: string): ParameterEstimate {
  const found = result.parameters.find((parameter) => parameter.name === name);
  if (!found) {
    const names = result.parameters.map((parameter) => parameter.name).join(', ');
    throw new RangeError(`No parameter is called "${name}"; there are: ${names}`);
  }
  return found;
}
