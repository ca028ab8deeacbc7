import { LARGEST_GAP, type Spectrum, sortSpectrum } from './spectrum.ts';

/** Why an impedance at a frequency is missing. */
export type ImpedanceAtReason = 'outside-measured-range' | 'points-too-far-apart';

/** The impedance at one frequency; all null together, with a `reason`. */
export interface ImpedanceAt {
  readonly frequencyHz: number;
  readonly realOhm: number | null;
  readonly imaginaryOhm: number | null;
  readonly magnitudeOhm: number | null;
  /** Standard uncertainty of the magnitude by the interpolation alone; 0 where the frequency was measured. */
  readonly interpolationOhm: number | null;
  readonly reason: ImpedanceAtReason | null;
}

/** What the bend between two points leaves open, in parts of what the next points make of it. */
const OPEN_OF_BEND = 0.3;

/**
 * The impedance at a frequency, real and imaginary part each interpolated in ln f (spectra are measured at frequencies
 * spaced evenly in it; common practice): by the cubic through the two points on either side where the spectrum has them,
 * else by the line through the neighbours. The distance between the two tells what the interpolation leaves open; by the
 * line alone nothing does, so that it is null then. Where the frequency itself was measured, the mean of its points.
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
    return found(frequencyHz, mean(sorted.realOhm), mean(sorted.imaginaryOhm), 0);
  }
  const below = f.findIndex((each) => each < frequencyHz);
  if (below <= 0) return missing(frequencyHz, 'outside-measured-range');
  const above = below - 1;
  if (f[above] / f[below] > LARGEST_GAP) return missing(frequencyHz, 'points-too-far-apart');
  const at = Math.log(frequencyHz);
  const through = (places: readonly number[], column: Float64Array): number =>
    lagrange(
      places.map((place) => Math.log(f[place])),
      places.map((place) => column[place]),
      at,
    );
  const neighbours = [above, below];
  const outer = [f.findLastIndex((each) => each > f[above]), f.findIndex((each) => each < f[below])];
  const far = ([nearer, farther]: readonly number[]): boolean => f[nearer] / f[farther] > LARGEST_GAP;
  const linear = [sorted.realOhm, sorted.imaginaryOhm].map((column) => through(neighbours, column));
  if (outer.includes(-1) || far([outer[0], above]) || far([below, outer[1]]))
    return found(frequencyHz, linear[0], linear[1], null);
  const four = [outer[0], above, below, outer[1]];
  const [realOhm, imaginaryOhm] = [sorted.realOhm, sorted.imaginaryOhm].map((column) =>
    through(four, column),
  );
  const bendOhm = Math.abs(Math.hypot(realOhm, imaginaryOhm) - Math.hypot(linear[0], linear[1]));
  return found(frequencyHz, realOhm, imaginaryOhm, OPEN_OF_BEND * bendOhm);
}

/** The polynomial through points, at a place (Lagrange's form). */
function lagrange(x: readonly number[], y: readonly number[], at: number): number {
  return y.reduce(
    (sum, value, i) =>
      sum +
      x.reduce((product, other, j) => (j === i ? product : (product * (at - other)) / (x[i] - other)), value),
    0,
  );
}

function found(
  frequencyHz: number,
  realOhm: number,
  imaginaryOhm: number,
  interpolationOhm: number | null,
): ImpedanceAt {
  return {
    frequencyHz,
    realOhm,
    imaginaryOhm,
    magnitudeOhm: Math.hypot(realOhm, imaginaryOhm),
    interpolationOhm,
    reason: null,
  };
}

function missing(frequencyHz: number, reason: ImpedanceAtReason): ImpedanceAt {
  return {
    frequencyHz,
    realOhm: null,
    imaginaryOhm: null,
    magnitudeOhm: null,
    interpolationOhm: null,
    reason,
  };
}
