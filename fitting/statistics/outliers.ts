import { medianOf, scaledMad } from '../numeric/index.ts';

/** Distance from the median in robust standard deviations from which a value is an outlier. */
export const OUTLIER_SCORE = 3.5;
/** Fewer values do not say what is usual among them. */
const LEAST_VALUES = 5;

/** Where the usual values of a sample lie. */
export interface UsualRange {
  readonly centre: number;
  /** Robust standard deviation, at least the least scale. */
  readonly scale: number;
  /** Values farther than this from the centre are outliers. */
  readonly reach: number;
}

/**
 * The range outside which a value of a sample is an outlier: `limit` robust standard deviations (scaled median absolute
 * deviation) about the median. Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC 1993 (from memory), use 3.5.
 * The median absolute deviation of few values scatters widely, so the limit grows by 1 + 6/n: about one sample in twenty of
 * normal values then has a value beyond 3.5, from 5 values to 300 (simulated).
 *
 * @param leastScale scale below which differences matter to nobody, or are the measurement's own
 * @returns null where fewer than 5 values, or a scale of zero, do not say what is usual
 */
export function usualRange(
  values: readonly number[],
  options: { readonly limit?: number; readonly leastScale?: number } = {},
): UsualRange | null {
  if (values.length < LEAST_VALUES) return null;
  const scale = Math.max(scaledMad(values), options.leastScale ?? 0);
  if (!(scale > 0)) return null;
  const limit = (options.limit ?? OUTLIER_SCORE) * (1 + 6 / values.length);
  return { centre: medianOf(values), scale, reach: limit * scale };
}
