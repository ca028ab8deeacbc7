import { checkSample, quantileSorted } from './sample.ts';

/** 1/Φ⁻¹(3/4): makes the median absolute deviation estimate the standard deviation of normal data. */
const NORMAL_CONSISTENCY = 1.482602218505602;

/**
 * Median; the mean of the two middle values for an even count. @throws RangeError when empty or not finite
 */
export function median(values: ArrayLike<number>): number {
  checkSample(values, 1);
  return quantileSorted(Float64Array.from(values).sort(), 0.5);
}

/**
 * Median of |x − median|, times 1.4826 so that it estimates σ of normal data. @throws RangeError when empty
 */
export function madScale(values: ArrayLike<number>): number {
  const centre = median(values);
  return NORMAL_CONSISTENCY * median(Float64Array.from(values, (value) => Math.abs(value - centre)));
}

/** Distance of the quartiles (type 7). @throws RangeError when empty or not finite */
export function interquartileRange(values: ArrayLike<number>): number {
  checkSample(values, 1);
  const sorted = Float64Array.from(values).sort();
  return quantileSorted(sorted, 0.75) - quantileSorted(sorted, 0.25);
}
