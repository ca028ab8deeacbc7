import { tQuantile } from '../../statistics/distributions.ts';
import { estimateOf, type FitResult } from '../types.ts';
import { checkLevel, type Interval } from './interval.ts';

/**
 * Half width in standard errors: Student's t on the fit's degrees of freedom, or the normal quantile where
 * the weights are taken as known.
 *
 * @throws RangeError for a bad level
 */
export function coverageFactor(result: FitResult, level: number): number {
  checkLevel(level);
  const known = result.covarianceScale === 'weights';
  return tQuantile(0.5 + level / 2, known ? Infinity : Math.max(result.degreesOfFreedom, 1));
}

/**
 * Wald interval: value ± t·SE (see `coverageFactor`). Symmetric and first-order only: for a rate
 * or a time constant prefer the profile or a logarithmic scale. Not cut at bounds.
 *
 * @throws RangeError for an unknown name or a level outside (0, 1)
 */
export function waldInterval(result: FitResult, name: string, level = 0.95): Interval {
  const { value, standardError } = estimateOf(result, name);
  const factor = coverageFactor(result, level);
  if (standardError === null) {
    return { low: null, high: null, lowReason: 'no-standard-error', highReason: 'no-standard-error', level };
  }
  return {
    low: value - factor * standardError,
    high: value + factor * standardError,
    lowReason: null,
    highReason: null,
    level,
  };
}
