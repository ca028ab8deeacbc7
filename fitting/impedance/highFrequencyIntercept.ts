import { type Spectrum, sortSpectrum } from './spectrum.ts';

/** Why there is no intercept: the imaginary part never is above, or never below zero. */
export type InterceptReason = 'no-inductive-part' | 'no-capacitive-part';

/** Where the imaginary part crosses zero; both null together, with a `reason`. */
export interface Intercept {
  readonly resistanceOhm: number | null;
  readonly frequencyHz: number | null;
  readonly reason: InterceptReason | null;
}

/**
 * The high-frequency intercept: the real part where, coming down from the highest frequency, the imaginary part first
 * turns from inductive (above zero) to capacitive. Interpolated linearly in ln f between the two points. It is the
 * resistance of electrolyte, collectors and leads, and is read off so by common practice.
 */
export function highFrequencyIntercept(spectrum: Spectrum): Intercept {
  const { frequencyHz, realOhm, imaginaryOhm } = sortSpectrum(spectrum);
  for (let i = 1; i < frequencyHz.length; i++) {
    const [above, below] = [imaginaryOhm[i - 1], imaginaryOhm[i]];
    if (!(above > 0 && below <= 0)) continue;
    const share = above / (above - below);
    const between = (a: number, b: number): number => a + share * (b - a);
    return {
      resistanceOhm: between(realOhm[i - 1], realOhm[i]),
      frequencyHz: Math.exp(between(Math.log(frequencyHz[i - 1]), Math.log(frequencyHz[i]))),
      reason: null,
    };
  }
  const reason = imaginaryOhm.some((value) => value > 0) ? 'no-capacitive-part' : 'no-inductive-part';
  return { resistanceOhm: null, frequencyHz: null, reason };
}
