import { MAD_TO_STANDARD_DEVIATION } from './constants.ts';

/** Middle value; of an even number, the mean of the two middle ones. NaN for none. */
export function medianOf(values: ArrayLike<number>): number {
  // A typed array sorts numbers several times as fast as an array with a comparison.
  return middleOf(new Float64Array(values).sort());
}

/** Median of |x − median|, scaled so that it estimates the standard deviation of normal data. NaN for none. */
export function scaledMad(values: ArrayLike<number>): number {
  const centre = medianOf(values);
  return MAD_TO_STANDARD_DEVIATION * medianOf(Float64Array.from(values, (value) => Math.abs(value - centre)));
}

function middleOf(sorted: ArrayLike<number>): number {
  const middle = sorted.length >> 1;
  if (sorted.length === 0) return Number.NaN;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}
