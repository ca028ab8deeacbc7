import { impedanceAt } from './impedanceAt.ts';
import type { Consistency } from './kramersKronig.ts';
import { magnitudeUncertainty } from './magnitudeUncertainty.ts';
import { LARGEST_GAP, type Spectrum, sortSpectrum } from './spectrum.ts';

/**
 * Why there is no intercept: the imaginary part is not above zero at the high frequencies, does not fall below it, or
 * does so between two points too far apart to say where.
 */
export type InterceptReason = 'no-inductive-part' | 'no-capacitive-part' | 'points-too-far-apart';

/** Where the imaginary part crosses zero; all null together, with a `reason`. */
export interface Intercept {
  readonly resistanceOhm: number | null;
  readonly frequencyHz: number | null;
  /** Of the resistance: scatter and interpolation; null where the points are too few to say. */
  readonly standardUncertaintyOhm: number | null;
  readonly reason: InterceptReason | null;
}

/**
 * The high-frequency intercept: the real part where, coming down from the highest frequency, the imaginary part first
 * turns from inductive (above zero, or at zero where it begins) to capacitive. Interpolated linearly in ln f between the
 * two points. It is the resistance of electrolyte, collectors and leads, and is read off so by common practice.
 *
 * Its uncertainty is the scatter of both parts about a spectrum that obeys Kramers–Kronig, the imaginary one by the slope
 * at which the real part follows it, and what the line between the points leaves out against the cubic through four.
 */
export function highFrequencyIntercept(spectrum: Spectrum, consistency: Consistency): Intercept {
  const { frequencyHz, realOhm, imaginaryOhm } = sortSpectrum(spectrum);
  for (let i = 1; i < frequencyHz.length; i++) {
    const [above, below] = [imaginaryOhm[i - 1], imaginaryOhm[i]];
    if (!(above > 0 && below <= 0) && !(i === 1 && above === 0 && below < 0)) continue;
    // A zero that was measured needs no neighbour.
    if (above !== 0 && below !== 0 && frequencyHz[i - 1] / frequencyHz[i] > LARGEST_GAP)
      return missing('points-too-far-apart');
    const share = above / (above - below);
    const between = (a: number, b: number): number => a + share * (b - a);
    const resistance = between(realOhm[i - 1], realOhm[i]);
    const crossingHz = Math.exp(between(Math.log(frequencyHz[i - 1]), Math.log(frequencyHz[i])));
    // Real part per imaginary part along the spectrum.
    const slope = (realOhm[i] - realOhm[i - 1]) / (below - above);
    const scatterOhm = magnitudeUncertainty(consistency, crossingHz, resistance);
    const curve = impedanceAt(spectrum, crossingHz);
    const known = scatterOhm !== null && curve.interpolationOhm !== null;
    return {
      resistanceOhm: resistance,
      frequencyHz: crossingHz,
      standardUncertaintyOhm:
        known && curve.realOhm !== null && curve.imaginaryOhm !== null
          ? Math.hypot(
              scatterOhm,
              scatterOhm * slope,
              curve.realOhm - resistance - slope * curve.imaginaryOhm,
            )
          : null,
      reason: null,
    };
  }
  return missing(imaginaryOhm[0] > 0 ? 'no-capacitive-part' : 'no-inductive-part');
}

function missing(reason: InterceptReason): Intercept {
  return { resistanceOhm: null, frequencyHz: null, standardUncertaintyOhm: null, reason };
}
