import { normalProbability } from './distributions.ts';
import { checkSample, mean, standardDeviation } from './sample.ts';

export interface AndersonDarling {
  /** A²; null for a sample without spread. */
  readonly statistic: number | null;
  /** A²(1 + 0.75/n + 2.25/n²), for mean and deviation estimated from the sample. */
  readonly adjusted: number | null;
  /** Approximate P(at least this far from normal) for normal data. */
  readonly pValue: number | null;
  readonly reason: 'no-spread' | null;
}

/** 5 % critical value of the adjusted statistic. */
export const ANDERSON_DARLING_CRITICAL_05 = 0.752;

/**
 * Anderson–Darling test of normality with mean and deviation from the sample (D'Agostino and Stephens,
 * Goodness-of-Fit Techniques, 1986, tables 4.7 and 4.9; e-Handbook of Statistical Methods 1.3.5.14).
 *
 * @throws RangeError for fewer than 3 or non-finite values
 */
export function andersonDarling(values: ArrayLike<number>): AndersonDarling {
  checkSample(values, 3);
  const n = values.length;
  const centre = mean(values);
  const deviation = standardDeviation(values);
  if (!(deviation > 0)) return { statistic: null, adjusted: null, pValue: null, reason: 'no-spread' };
  const z = Float64Array.from(values, (value) => (value - centre) / deviation).sort();
  let sum = 0;
  for (let i = 0; i < n; i++) {
    // ln(1 − Φ(z)) as ln Φ(−z): no cancellation in the upper tail. The smallest number keeps far tails
    // finite.
    const below = Math.log(Math.max(normalProbability(z[i]), Number.MIN_VALUE));
    const above = Math.log(Math.max(normalProbability(-z[n - 1 - i]), Number.MIN_VALUE));
    sum += (2 * i + 1) * (below + above);
  }
  const statistic = -n - sum / n;
  const adjusted = statistic * (1 + 0.75 / n + 2.25 / (n * n));
  return { statistic, adjusted, pValue: pValueOf(adjusted), reason: null };
}

function pValueOf(a: number): number {
  if (a >= 0.6) return a > 13 ? 0 : Math.exp(1.2937 - 5.709 * a + 0.0186 * a * a);
  if (a >= 0.34) return Math.exp(0.9177 - 4.279 * a - 1.38 * a * a);
  if (a >= 0.2) return 1 - Math.exp(-8.318 + 42.796 * a - 59.938 * a * a);
  return 1 - Math.exp(-13.436 + 101.14 * a - 223.73 * a * a);
}
