import type { CostFeature } from './featureCosts.ts';

/** One feature of the cells of a lot at one reference condition. Everything is in the unit of the feature. */
export interface LotFeature extends CostFeature {
  /** Standard uncertainty of each value; null where it is not known. */
  readonly standardUncertainties: readonly (number | null)[];
}

/** Median of finite numbers; null for none. */
export function medianOf(values: Iterable<number>): number | null {
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length >> 1;
  if (sorted.length === 0) return null;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/** Scales the median absolute deviation to the standard deviation of a normal distribution: 1 / Φ⁻¹(3/4). */
const MAD_TO_STANDARD_DEVIATION = 1.482602218505602;

/** Robust standard deviation about the median (scaled median absolute deviation); null for no values. */
export function robustStandardDeviation(values: readonly number[]): number | null {
  const median = medianOf(values);
  if (median === null) return null;
  const deviation = medianOf(values.map((value) => Math.abs(value - median)));
  return deviation === null ? null : MAD_TO_STANDARD_DEVIATION * deviation;
}
