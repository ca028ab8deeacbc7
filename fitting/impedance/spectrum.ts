/**
 * An impedance spectrum: Z(f) = realOhm + j·imaginaryOhm at each frequency, in any order. The imaginary part is
 * negative where the cell is capacitive, as follows from Z = R + 1/(jωC).
 */
export interface Spectrum {
  readonly frequencyHz: Float64Array;
  readonly realOhm: Float64Array;
  readonly imaginaryOhm: Float64Array;
}

/** A spectrum with the condition it was measured at. */
export interface Sweep {
  /** What tells it from other sweeps of the cell. */
  readonly label: string;
  readonly soc: number | null;
  /** Charge counted by the instrument, positive on charge. */
  readonly chargeAh: number | null;
  readonly voltageV: number | null;
  readonly temperatureC: number | null;
  readonly spectrum: Spectrum;
}

/** Neighbours further apart than this factor of frequency say nothing of what lies between them. */
export const LARGEST_GAP = 10;

/**
 * @throws RangeError naming column and place, where the columns differ in length, are empty, or hold a frequency
 * that is not above 0, a number that is not finite, or an impedance of 0
 */
export function checkSpectrum(spectrum: Spectrum): void {
  const { frequencyHz, realOhm, imaginaryOhm } = spectrum;
  const count = frequencyHz.length;
  if (count === 0) throw new RangeError('frequencyHz must hold at least one point');
  if (realOhm.length !== count || imaginaryOhm.length !== count) {
    throw new RangeError(
      `frequencyHz holds ${count} values, realOhm ${realOhm.length} and imaginaryOhm ${imaginaryOhm.length}: they must be as many`,
    );
  }
  for (let i = 0; i < count; i++) {
    if (!(frequencyHz[i] > 0 && frequencyHz[i] < Infinity))
      throw new RangeError(`frequencyHz[${i}] is ${frequencyHz[i]}: it must be above 0`);
    const magnitude = Math.hypot(realOhm[i], imaginaryOhm[i]);
    if (!(magnitude > 0 && magnitude < Infinity))
      throw new RangeError(
        `the impedance at point ${i} is ${realOhm[i]} + ${imaginaryOhm[i]}j: its magnitude must be finite and above 0`,
      );
  }
}

/** The spectrum with its highest frequency first; points of equal frequency keep their order. */
export function sortSpectrum(spectrum: Spectrum): Spectrum {
  const { frequencyHz } = spectrum;
  const order = Array.from(frequencyHz, (_, i) => i).sort((a, b) => frequencyHz[b] - frequencyHz[a] || a - b);
  const pick = (column: Float64Array): Float64Array => Float64Array.from(order, (i) => column[i]);
  return {
    frequencyHz: pick(frequencyHz),
    realOhm: pick(spectrum.realOhm),
    imaginaryOhm: pick(spectrum.imaginaryOhm),
  };
}

/** At how many frequencies a spectrum was measured: points of one frequency repeat each other. */
export function countFrequencies(spectrum: Spectrum): number {
  return new Set(spectrum.frequencyHz).size;
}

/** |Z| of each point, in Ω. */
export function magnitudes(spectrum: Spectrum): Float64Array {
  return spectrum.realOhm.map((real, i) => Math.hypot(real, spectrum.imaginaryOhm[i]));
}

/** Angular frequency 2πf of each point, in rad/s. */
export function angularFrequencies(spectrum: Spectrum): Float64Array {
  return spectrum.frequencyHz.map((f) => 2 * Math.PI * f);
}
