import { LARGEST_GAP, type Spectrum, sortSpectrum } from './spectrum.ts';

/** Why an impedance at a frequency is missing. */
export type ImpedanceAtReason = 'outside-measured-range' | 'points-too-far-apart';

/** The impedance at one frequency; all null together, with a `reason`. */
export interface ImpedanceAt {
  readonly frequencyHz: number;
  readonly realOhm: number | null;
  readonly imaginaryOhm: number | null;
  readonly magnitudeOhm: number | null;
  readonly reason: ImpedanceAtReason | null;
}

/**
 * The impedance at a frequency, real and imaginary part each interpolated linearly in ln f between the two
 * neighbouring points (spectra are measured at frequencies spaced evenly in ln f; common practice). Where the
 * frequency itself was measured, the mean of its points.
 *
 * @throws RangeError for a frequency that is not above 0
 */
export function impedanceAt(spectrum: Spectrum, frequencyHz: number): ImpedanceAt {
  if (!(frequencyHz > 0 && frequencyHz < Infinity))
    throw new RangeError(`frequencyHz must be above 0, got ${frequencyHz}`);
  const sorted = sortSpectrum(spectrum);
  const f = sorted.frequencyHz;
  const same = [...f.keys()].filter((i) => f[i] === frequencyHz);
  if (same.length > 0) {
    const mean = (column: Float64Array): number => same.reduce((sum, i) => sum + column[i], 0) / same.length;
    return found(frequencyHz, mean(sorted.realOhm), mean(sorted.imaginaryOhm));
  }
  const below = f.findIndex((each) => each < frequencyHz);
  if (below <= 0) return missing(frequencyHz, 'outside-measured-range');
  const above = below - 1;
  if (f[above] / f[below] > LARGEST_GAP) return missing(frequencyHz, 'points-too-far-apart');
  const share = Math.log(frequencyHz / f[below]) / Math.log(f[above] / f[below]);
  const between = (column: Float64Array): number => column[below] + share * (column[above] - column[below]);
  return found(frequencyHz, between(sorted.realOhm), between(sorted.imaginaryOhm));
}

function found(frequencyHz: number, realOhm: number, imaginaryOhm: number): ImpedanceAt {
  return {
    frequencyHz,
    realOhm,
    imaginaryOhm,
    magnitudeOhm: Math.hypot(realOhm, imaginaryOhm),
    reason: null,
  };
}

function missing(frequencyHz: number, reason: ImpedanceAtReason): ImpedanceAt {
  return { frequencyHz, realOhm: null, imaginaryOhm: null, magnitudeOhm: null, reason };
}
