import { circuitImpedance, type ImpedanceCircuit } from '../../../fitting/impedance/impedanceCircuit.ts';
import type { Spectrum } from '../../../fitting/impedance/spectrum.ts';

/** Frequencies evenly spaced in their logarithm, the highest first. */
export function logFrequencies(highHz: number, lowHz: number, perDecade: number): Float64Array {
  const count = Math.round(Math.log10(highHz / lowHz) * perDecade) + 1;
  return Float64Array.from({ length: count }, (_, i) => highHz * (lowHz / highHz) ** (i / (count - 1)));
}

/** A circuit's spectrum, with scatter as a fraction of |Z| on real and imaginary part where asked. */
export function spectrumOf(
  circuit: ImpedanceCircuit,
  frequencyHz: Float64Array,
  scatter = 0,
  normal: () => number = () => 0,
): Spectrum {
  const { realOhm, imaginaryOhm } = circuitImpedance(circuit, frequencyHz);
  const size = realOhm.map((real, i) => scatter * Math.hypot(real, imaginaryOhm[i]));
  return {
    frequencyHz,
    realOhm: realOhm.map((real, i) => real + size[i] * normal()),
    imaginaryOhm: imaginaryOhm.map((imaginary, i) => imaginary + size[i] * normal()),
  };
}

/** A power cell of about 3 Ah, values of the size that published spectra show; invented. */
export const powerCell: ImpedanceCircuit = {
  seriesInductanceH: 2e-7,
  seriesResistanceOhm: 0.02,
  arcs: [
    { resistanceOhm: 0.008, timeConstantS: 0.001, exponent: 0.85 },
    { resistanceOhm: 0.015, timeConstantS: 0.1, exponent: 0.9 },
  ],
  diffusionCoefficient: 0.003,
};
