import { normalProbability } from '../statistics/index.ts';

/**
 * Probability that a true difference lies within ± tolerance, when the measured one has this standard uncertainty and
 * the true one is normal about it (JCGM 100:2008, 4.3 and annex G).
 */
export function probabilityWithinTolerance(
  difference: number,
  standardUncertainty: number,
  tolerance: number,
): number {
  if (standardUncertainty === 0) return Math.abs(difference) <= tolerance ? 1 : 0;
  const size = Math.abs(difference);
  return (
    normalProbability((tolerance - size) / standardUncertainty) -
    normalProbability((-tolerance - size) / standardUncertainty)
  );
}

/** Standard uncertainty of the difference of two independent values; null where either is unknown. */
export function differenceUncertainty(a: number | null, b: number | null): number | null {
  return a === null || b === null ? null : Math.hypot(a, b);
}
