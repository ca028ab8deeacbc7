import { tQuantile } from '../../statistics/index.ts';
import { estimateOf, type FitResult } from '../types.ts';
import { checkLevel } from './interval.ts';

/** Two correlated estimates whose ratio is wanted. */
export interface RatioInput {
  readonly numerator: number;
  readonly denominator: number;
  readonly numeratorVariance: number;
  readonly denominatorVariance: number;
  readonly covariance: number;
  /** Degrees of freedom of the variances; Infinity where they are known. */
  readonly degreesOfFreedom: number;
}

/**
 * Confidence region of a ratio. `closed`: low…high. `outside`: everything except low…high (the denominator is
 * not distinguishable from 0 but the ratio is). `everything`: nothing is excluded. `outside` and `everything`
 * are open regions.
 */
export interface RatioRegion {
  readonly ratio: number | null;
  readonly kind: 'closed' | 'outside' | 'everything';
  readonly low: number | null;
  readonly high: number | null;
  readonly level: number;
}

/**
 * Fieller's region of numerator/denominator (Fieller, J. Roy. Stat. Soc. B 16 (1954) 175): the ρ with
 * (numerator − ρ·denominator)² ≤ t² (v₁₁ − 2ρ v₁₂ + ρ² v₂₂).
 *
 * @throws RangeError for negative variances or a level outside (0, 1)
 */
export function fiellerRegion(input: RatioInput, level = 0.95): RatioRegion {
  checkLevel(level);
  const { numerator: a, denominator: b, numeratorVariance, denominatorVariance, covariance } = input;
  if (!(numeratorVariance >= 0 && denominatorVariance >= 0)) {
    throw new RangeError('numeratorVariance and denominatorVariance must not be negative');
  }
  const t2 = tQuantile(0.5 + level / 2, input.degreesOfFreedom) ** 2;
  const quadratic = b * b - t2 * denominatorVariance;
  const half = a * b - t2 * covariance;
  const constant = a * a - t2 * numeratorVariance;
  const discriminant = half * half - quadratic * constant;
  const ratio = b === 0 ? null : a / b;
  if (discriminant < 0 || quadratic === 0) return { ratio, kind: 'everything', low: null, high: null, level };
  // The larger root in size first, the other from the product of both: no cancellation.
  const sum = half + (half < 0 ? -1 : 1) * Math.sqrt(discriminant);
  const first = sum / quadratic;
  const second = sum === 0 ? 0 : constant / sum;
  const kind = quadratic > 0 ? 'closed' : 'outside';
  return { ratio, kind, low: Math.min(first, second), high: Math.max(first, second), level };
}

/**
 * Inverse prediction from a fitted straight line: the x at which the response is `response`, by Fieller's
 * region.
 *
 * @param line a fit with parameters `intercept` and `slope`
 * @param observations how many new observations `response` is the mean of; Infinity where it is an exact
 * threshold. Default Infinity
 * @throws RangeError where the line has no covariance, or for a bad level
 */
export function inversePrediction(
  line: FitResult,
  response: number,
  options: { readonly observations?: number; readonly level?: number } = {},
): RatioRegion {
  const { observations = Infinity, level = 0.95 } = options;
  const intercept = line.parameters.indexOf(estimateOf(line, 'intercept'));
  const slope = line.parameters.indexOf(estimateOf(line, 'slope'));
  const { covariance, residualSd } = line;
  if (!covariance || residualSd === null)
    throw new RangeError('the line has no covariance: it needs at least 3 points');
  if (!(observations > 0)) throw new RangeError(`observations must be positive, got ${observations}`);
  const known = line.covarianceScale === 'weights';
  const fresh = (known ? 1 : residualSd ** 2) / observations;
  return fiellerRegion(
    {
      numerator: response - line.parameters[intercept].value,
      denominator: line.parameters[slope].value,
      numeratorVariance: covariance[intercept][intercept] + fresh,
      denominatorVariance: covariance[slope][slope],
      covariance: -covariance[intercept][slope],
      degreesOfFreedom: known ? Infinity : line.degreesOfFreedom,
    },
    level,
  );
}
