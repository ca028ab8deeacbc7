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

/** Steps of the integral below, in standard uncertainties of the sharpest factor; finer ones change nothing (bell curves). */
const STEP = 0.25;
/** Beyond this many standard uncertainties nothing is left of a normal distribution. */
const REACH = 8;

/**
 * Probability that no two of several true values differ by more than the tolerance, each normal about its measured one and
 * independent of the others: Σᵢ ∫ φᵢ(x) Πⱼ≠ᵢ [Φⱼ(x + tolerance) − Φⱼ(x)] dx, where x is the smallest of them (the range of
 * independent values; David and Nagaraja, Order Statistics, 2003, section 2.3). An uncertainty far below the largest one
 * counts as a fiftieth of it.
 */
export function probabilityAllWithin(
  values: readonly number[],
  standardUncertainties: readonly number[],
  tolerance: number,
): number {
  const largest = Math.max(...standardUncertainties);
  if (largest === 0) return Math.max(...values) - Math.min(...values) <= tolerance ? 1 : 0;
  const u = standardUncertainties.map((one) => Math.max(one, largest / 50));
  const sharpest = Math.min(...u);
  const below = (j: number, x: number) => normalProbability((x - values[j]) / u[j]);
  let probability = 0;
  values.forEach((value, i) => {
    const step = STEP * Math.min(1, sharpest / u[i]);
    for (let k = -Math.ceil(REACH / step); k * step <= REACH; k++) {
      const x = value + u[i] * k * step;
      let others = step * Math.exp(-((k * step) ** 2) / 2);
      for (let j = 0; j < values.length && others > 0; j++)
        if (j !== i) others *= below(j, x + tolerance) - below(j, x);
      probability += others;
    }
  });
  return Math.min(1, probability / Math.sqrt(2 * Math.PI));
}

/** Standard uncertainty of the difference of two independent values; null where either is unknown. */
export function differenceUncertainty(a: number | null, b: number | null): number | null {
  return a === null || b === null ? null : Math.hypot(a, b);
}
