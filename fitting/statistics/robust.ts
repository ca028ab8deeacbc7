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

export interface RobustEstimate {
  readonly location: number;
  readonly scale: number;
  /** False: the iteration did not settle within its 200 rounds. */
  readonly converged: boolean;
}

/**
 * Robust mean and standard deviation by Huber's proposal as Algorithm A of ISO 13528 (annex C.3): values
 * beyond 1.5 scales are pulled in, mean and 1.134 times the standard deviation taken again until they settle.
 * A scale of 0 (more than half the values equal) ends it at the median.
 *
 * @throws RangeError for fewer than 2 or non-finite values
 */
export function huberEstimate(values: ArrayLike<number>): RobustEstimate {
  checkSample(values, 2);
  let location = median(values);
  let scale = madScale(values);
  const n = values.length;
  for (let round = 0; round < 200; round++) {
    if (scale === 0) return { location, scale, converged: true };
    const [low, high] = [location - 1.5 * scale, location + 1.5 * scale];
    const pulled = Float64Array.from(values, (value) => Math.min(Math.max(value, low), high));
    const next = pulled.reduce((sum, value) => sum + value, 0) / n;
    const square = pulled.reduce((sum, value) => sum + (value - next) ** 2, 0);
    const nextScale = 1.134 * Math.sqrt(square / (n - 1));
    const settled =
      Math.abs(next - location) + Math.abs(nextScale - scale) <= 1e-12 * (Math.abs(next) + nextScale);
    location = next;
    scale = nextScale;
    if (settled) return { location, scale, converged: true };
  }
  return { location, scale, converged: false };
}
