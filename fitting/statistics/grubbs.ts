import { tQuantile } from './distributions.ts';
import { checkSample, mean, standardDeviation } from './sample.ts';

/** Which side an outlier may lie on. */
export type GrubbsSide = 'both' | 'high' | 'low';

export interface GrubbsStep {
  /** Index in the sample given. */
  readonly index: number;
  readonly value: number;
  readonly statistic: number;
  readonly critical: number;
  readonly isOutlier: boolean;
}

/**
 * Critical value (n − 1)/√n · √(t²/(n − 2 + t²)), t the upper α/n point (one side) or α/2n point (both) of
 * Student's t on n − 2 degrees of freedom (Grubbs, Technometrics 11 (1969) 1; e-Handbook of Statistical
 * Methods 1.3.5.17.1).
 *
 * @throws RangeError for n < 3 or alpha outside (0, 1)
 */
export function grubbsCritical(n: number, alpha: number, side: GrubbsSide): number {
  if (!(Number.isInteger(n) && n >= 3)) throw new RangeError(`n must be at least 3, got ${n}`);
  if (!(alpha > 0 && alpha < 1)) throw new RangeError(`alpha must lie between 0 and 1, got ${alpha}`);
  const t = tQuantile(1 - alpha / (side === 'both' ? 2 * n : n), n - 2);
  return ((n - 1) / Math.sqrt(n)) * Math.sqrt((t * t) / (n - 2 + t * t));
}

/**
 * Grubbs' test, repeated: the farthest value is tested; while it is an outlier it is taken out and the test
 * is done again on the rest, with statistic and critical value of the smaller sample. The last step is the
 * one that found none.
 *
 * Assumes that the rest is normal; repeated use can mask neighbouring outliers (for several suspected at once
 * the median and its deviation are safer). A sample without spread gives statistic 0.
 *
 * @param options.limit at most so many steps. Default: until fewer than 3 are left
 * @throws RangeError for fewer than 3 or non-finite values
 */
export function grubbsTest(
  values: ArrayLike<number>,
  options: { readonly alpha?: number; readonly side?: GrubbsSide; readonly limit?: number } = {},
): GrubbsStep[] {
  checkSample(values, 3);
  const { alpha = 0.05, side = 'both', limit = Infinity } = options;
  let left = Array.from({ length: values.length }, (_, index) => index);
  const steps: GrubbsStep[] = [];
  while (left.length >= 3) {
    const step = testOnce(values, left, alpha, side);
    steps.push(step);
    if (!step.isOutlier || steps.length >= limit) break;
    left = left.filter((index) => index !== step.index);
  }
  return steps;
}

function testOnce(
  values: ArrayLike<number>,
  left: readonly number[],
  alpha: number,
  side: GrubbsSide,
): GrubbsStep {
  const sample = left.map((index) => values[index]);
  const centre = mean(sample);
  const deviation = standardDeviation(sample);
  const distance = (value: number): number => {
    if (side === 'high') return value - centre;
    return side === 'low' ? centre - value : Math.abs(value - centre);
  };
  let farthest = left[0];
  for (const index of left) if (distance(values[index]) > distance(values[farthest])) farthest = index;
  const statistic = deviation > 0 ? distance(values[farthest]) / deviation : 0;
  const critical = grubbsCritical(left.length, alpha, side);
  return { index: farthest, value: values[farthest], statistic, critical, isOutlier: statistic > critical };
}
