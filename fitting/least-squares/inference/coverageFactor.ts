import { tQuantile } from '../../statistics/index.ts';
import type { FitResult } from '../types.ts';
import { checkLevel } from './interval.ts';

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
