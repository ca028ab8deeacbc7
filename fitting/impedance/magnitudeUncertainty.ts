import type { Consistency } from './kramersKronig.ts';

/** Points that must stand near a frequency for their scatter to say anything. */
const FEWEST_POINTS = 4;

/**
 * Standard uncertainty of |Z| near a frequency, from what the points within a decade of it (half below, half above)
 * depart from a spectrum that obeys Kramers–Kronig: the root mean square of their residuals times |Z|. It is scatter
 * alone (type A); the instrument's calibration is not in it.
 *
 * @returns Ω, or null where fewer than four points are near
 */
export function magnitudeUncertainty(
  consistency: Pick<Consistency, 'frequencyHz' | 'realResidual' | 'imaginaryResidual'>,
  frequencyHz: number,
  magnitudeOhm: number,
): number | null {
  const { realResidual, imaginaryResidual } = consistency;
  const near = [...consistency.frequencyHz.keys()].filter(
    (i) => Math.abs(Math.log10(consistency.frequencyHz[i] / frequencyHz)) <= 0.5,
  );
  if (near.length < FEWEST_POINTS) return null;
  const sum = near.reduce((total, i) => total + realResidual[i] ** 2 + imaginaryResidual[i] ** 2, 0);
  return Math.sqrt(sum / (2 * near.length)) * magnitudeOhm;
}
