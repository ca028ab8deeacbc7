import { tQuantile } from '../statistics/index.ts';
import type { Consistency } from './kramersKronig.ts';
import { BESIDE_ELEMENTS } from './voigtChain.ts';

/** Points that must stand near a frequency for their scatter to say anything. */
const FEWEST_POINTS = 4;

type Residuals = Pick<Consistency, 'elements' | 'frequencyHz' | 'realResidual' | 'imaginaryResidual'>;

/**
 * Standard uncertainty of |Z| near a frequency: {@link scatterNear}, enlarged so that twice it holds the truth in 95 % also
 * where it was taken from few points (Student's t over the normal quantile, JCGM 100:2008, G.3).
 *
 * @returns Ω, or null where fewer than four points are near
 */
export function magnitudeUncertainty(
  consistency: Residuals,
  frequencyHz: number,
  magnitudeOhm: number,
): number | null {
  const near = scatterNear(consistency, frequencyHz);
  if (near === null) return null;
  const factor = tQuantile(0.975, Math.max(near.degreesOfFreedom, 1)) / tQuantile(0.975, Infinity);
  return factor * near.fraction * magnitudeOhm;
}

/**
 * Scatter of |Z| near a frequency as a fraction of it, from what the points within a decade of it (half below, half above)
 * depart from a spectrum that obeys Kramers–Kronig: the root mean square of their residuals times |Z|, over the degrees
 * of freedom that the chain leaves of all points, because the chain follows part of their scatter. It is scatter alone
 * (type A); the instrument's calibration is not in it.
 *
 * @returns null where fewer than four points are near
 */
export function scatterNear(
  consistency: Residuals,
  frequencyHz: number,
): { readonly fraction: number; readonly degreesOfFreedom: number } | null {
  const { elements, realResidual, imaginaryResidual } = consistency;
  const near = [...consistency.frequencyHz.keys()].filter(
    (i) => Math.abs(Math.log10(consistency.frequencyHz[i] / frequencyHz)) <= 0.5,
  );
  if (elements === null || near.length < FEWEST_POINTS) return null;
  const values = 2 * consistency.frequencyHz.length;
  // A chain has at most as many elements as there are frequencies, so that some values are left.
  const left = (values - elements - BESIDE_ELEMENTS) / values;
  const sum = near.reduce((total, i) => total + realResidual[i] ** 2 + imaginaryResidual[i] ** 2, 0);
  const degreesOfFreedom = 2 * near.length * left;
  return { fraction: Math.sqrt(sum / degreesOfFreedom), degreesOfFreedom };
}
