import type { Consistency } from './kramersKronig.ts';
import { BESIDE_ELEMENTS } from './voigtChain.ts';

/** Points that must stand near a frequency for their scatter to say anything. */
const FEWEST_POINTS = 4;

/**
 * Standard uncertainty of |Z| near a frequency, from what the points within a decade of it (half below, half above)
 * depart from a spectrum that obeys Kramers–Kronig: the root mean square of their residuals times |Z|, over the degrees
 * of freedom that the chain leaves of all points, because the chain follows part of their scatter. It is scatter alone
 * (type A); the instrument's calibration is not in it.
 *
 * @returns Ω, or null where fewer than four points are near
 */
export function magnitudeUncertainty(
  consistency: Pick<Consistency, 'elements' | 'frequencyHz' | 'realResidual' | 'imaginaryResidual'>,
  frequencyHz: number,
  magnitudeOhm: number,
): number | null {
  const { elements, realResidual, imaginaryResidual } = consistency;
  const near = [...consistency.frequencyHz.keys()].filter(
    (i) => Math.abs(Math.log10(consistency.frequencyHz[i] / frequencyHz)) <= 0.5,
  );
  if (elements === null || near.length < FEWEST_POINTS) return null;
  const values = 2 * consistency.frequencyHz.length;
  // A chain has at most as many elements as there are frequencies, so that some values are left.
  const left = (values - elements - BESIDE_ELEMENTS) / values;
  const sum = near.reduce((total, i) => total + realResidual[i] ** 2 + imaginaryResidual[i] ** 2, 0);
  return Math.sqrt(sum / (2 * near.length * left)) * magnitudeOhm;
}
