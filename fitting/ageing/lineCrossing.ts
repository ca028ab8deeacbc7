import { fiellerRegion } from '../least-squares/index.ts';
import { residualsOf } from './fitModels.ts';
import { varianceInflation } from './lawFit.ts';
import type { AgeingPoints } from './points.ts';
import { fitLinear } from './straightLaws.ts';

/** Where a straight line reaches a limit, with Fieller's region. Open ends are null. */
export interface LineCrossing {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** The slope's direction never reaches the limit, or it is not significantly different from level. */
  readonly reason: 'never-crosses' | 'interval-open' | null;
}

/**
 * Inverse prediction with a straight line: x = (threshold − a)/b, with the region of E. C. Fieller (J. Roy. Stat. Soc. B 16 (1954) 175). The
 * variances are grown by the autocorrelation of the residuals. The only interval that a few check-ups allow; it
 * takes the straight line for true.
 *
 * @param points at least 3
 * @param level between 0 and 1
 */
export function lineCrossing(
  points: AgeingPoints,
  threshold: number,
  beyond: 'below' | 'above',
  level: number,
): LineCrossing {
  const end = points.x[points.x.length - 1];
  const line = fitLinear(points);
  line.inflated(varianceInflation(residualsOf(line, points)));
  const [initial, slope] = line.parameters;
  const covariance = line.covariance;
  const towards = beyond === 'below' ? slope.value < 0 : slope.value > 0;
  if (!towards) return { value: null, low: null, high: null, reason: 'never-crosses' };
  const value = Math.max(end, (threshold - initial.value) / slope.value);
  if (covariance === null) return { value, low: null, high: null, reason: 'interval-open' };
  const region = fiellerRegion(
    {
      numerator: threshold - initial.value,
      denominator: slope.value,
      numeratorVariance: covariance[0][0],
      denominatorVariance: covariance[1][1],
      covariance: -covariance[0][1],
      degreesOfFreedom: line.fit.degreesOfFreedom,
    },
    level,
  );
  if (region.kind === 'everything') return { value, low: null, high: null, reason: 'interval-open' };
  if (region.kind === 'outside') return { value, low: region.high, high: null, reason: 'interval-open' };
  return { value, low: region.low, high: region.high, reason: null };
}
