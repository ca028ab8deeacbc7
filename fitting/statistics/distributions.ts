import chisquareCdf from '@stdlib/stats-base-dists-chisquare-cdf';
import chisquareQuantileOf from '@stdlib/stats-base-dists-chisquare-quantile';
import fCdf from '@stdlib/stats-base-dists-f-cdf';
import fQuantileOf from '@stdlib/stats-base-dists-f-quantile';
import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import normalQuantileOf from '@stdlib/stats-base-dists-normal-quantile';
import tQuantileOf from '@stdlib/stats-base-dists-t-quantile';

// Thin wrappers over the stdlib distributions, so that the argument order and the checks are ours and in one
// place.

const checkProbability = (p: number): void => {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`probability must lie in [0, 1], got ${p}`);
};

const checkDegrees = (name: string, value: number): void => {
  if (!(value > 0)) throw new RangeError(`${name} must be positive, got ${value}`);
};

/** Quantile of the standard normal distribution. @throws RangeError outside [0, 1] */
export function normalQuantile(p: number): number {
  checkProbability(p);
  return normalQuantileOf(p, 0, 1);
}

/** P(Z ≤ z) of the standard normal distribution. */
export function normalProbability(z: number): number {
  return normalCdf(z, 0, 1);
}

/** Density of the standard normal distribution. */
export function normalDensity(z: number): number {
  return Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
}

/** Quantile of Student's t with `degrees` degrees of freedom (Infinity: normal). @throws RangeError */
export function tQuantile(p: number, degrees: number): number {
  checkProbability(p);
  checkDegrees('degrees', degrees);
  return degrees === Infinity ? normalQuantile(p) : tQuantileOf(p, degrees);
}

/** Quantile of χ². @throws RangeError */
export function chiSquareQuantile(p: number, degrees: number): number {
  checkProbability(p);
  checkDegrees('degrees', degrees);
  return chisquareQuantileOf(p, degrees);
}

/** P(X ≤ x) of χ². @throws RangeError for degrees ≤ 0 */
export function chiSquareProbability(x: number, degrees: number): number {
  checkDegrees('degrees', degrees);
  return x <= 0 ? 0 : chisquareCdf(x, degrees);
}

/** Quantile of F with (d1, d2) degrees of freedom. @throws RangeError */
export function fQuantile(p: number, d1: number, d2: number): number {
  checkProbability(p);
  checkDegrees('d1', d1);
  checkDegrees('d2', d2);
  return fQuantileOf(p, d1, d2);
}

/** P(F ≤ f) with (d1, d2) degrees of freedom. @throws RangeError for degrees ≤ 0 */
export function fProbability(f: number, d1: number, d2: number): number {
  checkDegrees('d1', d1);
  checkDegrees('d2', d2);
  return f <= 0 ? 0 : fCdf(f, d1, d2);
}
