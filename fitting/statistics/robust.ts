import { medianOf, scaledMad } from '../numeric/index.ts';
import { checkSample, quantileSorted } from './sample.ts';

/** Median of a checked sample. @throws RangeError when empty or not finite */
export function median(values: ArrayLike<number>): number {
  checkSample(values, 1);
  return medianOf(values);
}

/** Scaled median absolute deviation of a checked sample. @throws RangeError when empty or not finite */
export function madScale(values: ArrayLike<number>): number {
  checkSample(values, 1);
  return scaledMad(values);
}

/** Distance of the quartiles (type 7). @throws RangeError when empty or not finite */
export function interquartileRange(values: ArrayLike<number>): number {
  checkSample(values, 1);
  const sorted = Float64Array.from(values).sort();
  return quantileSorted(sorted, 0.75) - quantileSorted(sorted, 0.25);
}
