import { numericGradient } from '../../numeric/numericGradient.ts';
import type { FitResult } from '../types.ts';
import { coverageFactor } from './wald.ts';

/** A function of fitted parameters with its uncertainty. */
export interface DerivedQuantity {
  readonly value: number;
  /** √(gᵀVg); null where the fit has no covariance. */
  readonly standardError: number | null;
}

/** Bands at one point: of the mean response, and of one new observation there. */
export interface PredictionBand extends DerivedQuantity {
  readonly meanLow: number | null;
  readonly meanHigh: number | null;
  readonly newLow: number | null;
  readonly newHigh: number | null;
  readonly level: number;
}

/**
 * First-order propagation of the fit's covariance to a function of its parameters (the delta method): u² =
 * gᵀVg.
 *
 * @param quantity function of all parameters, in the order of the result
 * @param gradient its derivatives at the values; default: by differences
 */
export function derivedQuantity(
  result: FitResult,
  quantity: (values: Float64Array) => number,
  gradient?: ArrayLike<number>,
): DerivedQuantity {
  const values = Float64Array.from(result.parameters, (parameter) => parameter.value);
  const value = quantity(values.slice());
  if (!result.covariance) return { value, standardError: null };
  const sizes = result.parameters.map((parameter) => parameter.standardError);
  const g = gradient ?? numericGradient(quantity, values, sizes);
  let variance = 0;
  result.covariance.forEach((row, i) => {
    row.forEach((entry, j) => {
      variance += g[i] * entry * g[j];
    });
  });
  return { value, standardError: Math.sqrt(Math.max(variance, 0)) };
}

/**
 * Pointwise bands of a fitted curve at one place (Bates and Watts 1988, 2.3.2): mean ± t·se, new observation
 * ± t·√(se² + s²/w).
 *
 * @param response the model at that place as a function of all parameters
 * @param weight weight of the new observation (1/σ² in the fit's convention). Default 1
 * @throws RangeError for a level outside (0, 1)
 */
export function predictionBand(
  result: FitResult,
  response: (values: Float64Array) => number,
  options: { readonly level?: number; readonly gradient?: ArrayLike<number>; readonly weight?: number } = {},
): PredictionBand {
  const { level = 0.95, gradient, weight = 1 } = options;
  const factor = coverageFactor(result, level);
  const { value, standardError } = derivedQuantity(result, response, gradient);
  const mean = standardError === null ? null : factor * standardError;
  const sd = result.covarianceScale === 'weights' ? 1 : result.residualSd;
  const fresh =
    standardError === null || sd === null ? null : factor * Math.hypot(standardError, sd / Math.sqrt(weight));
  return {
    value,
    standardError,
    meanLow: mean === null ? null : value - mean,
    meanHigh: mean === null ? null : value + mean,
    newLow: fresh === null ? null : value - fresh,
    newHigh: fresh === null ? null : value + fresh,
    level,
  };
}
