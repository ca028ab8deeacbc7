import { type CircuitWindow, scoredValues } from '../window/circuitWindow.ts';
import { circuitJacobian } from './circuitJacobian.ts';
import { circuitVoltage } from './circuitResiduals.ts';
import type { FittedCircuit } from './fitCircuit.ts';

/** Harmonics of the bias of a quantiser that count, and phases over which it is averaged. */
const HARMONICS = 3;
const PHASES = 8;

/**
 * What the quantisation of the voltage adds to the covariance of a fitted circuit.
 *
 * A reading rounded to steps of q is off by a bias that depends on where between two steps the voltage lies: with noise
 * σ its k-th harmonic has the amplitude (q/kπ)·exp(−2π²k²σ²/q²) (a quantiser with Gaussian dither: B. Widrow and
 * I. Kollár, Quantization Noise, Cambridge 2008, chapter from memory). Along a slow relaxation that bias keeps its sign
 * for many rows, which no residual shows, because the fit follows it. So the bias along the fitted voltage is carried
 * to the parameters, Δθ = (JᵀJ)⁻¹Jᵀb, and ΔθΔθᵀ is averaged over the place of the steps, which is not known to a
 * fraction of one.
 *
 * @returns in the order of the circuit's parameters; null without a covariance or where noise blurs the steps
 *   wholly
 */
export function quantisationCovariance(
  window: CircuitWindow,
  circuit: FittedCircuit,
  resolutionV: number,
): number[][] | null {
  const { covariance, residualSdV } = circuit;
  if (covariance === null || !(resolutionV > 0) || !(residualSdV > 0)) return null;
  const noiseSquare = Math.max(0, residualSdV ** 2 - resolutionV ** 2 / 12) / resolutionV ** 2;
  const amplitudes = Array.from(
    { length: HARMONICS },
    (_, k) => (resolutionV / Math.PI / (k + 1)) * Math.exp(-2 * Math.PI ** 2 * (k + 1) ** 2 * noiseSquare),
  );
  if (amplitudes[0] < 0.01 * residualSdV) return null;
  const columns = circuitJacobian(window, circuit);
  const fitted = scoredValues(window, circuitVoltage(window, circuit));
  const size = columns.length;
  const mean = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  for (let phase = 0; phase < PHASES; phase++) {
    const along = new Array<number>(size).fill(0);
    for (let k = 0; k < fitted.length; k++) {
      const angle = 2 * Math.PI * (fitted[k] / resolutionV + phase / PHASES);
      let bias = 0;
      for (let h = 0; h < HARMONICS; h++)
        bias += (h % 2 === 0 ? 1 : -1) * amplitudes[h] * Math.sin((h + 1) * angle);
      for (let i = 0; i < size; i++) along[i] += columns[i][k] * bias;
    }
    const change = covariance.map((row) => row.reduce((sum, entry, j) => sum + entry * along[j], 0));
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) mean[i][j] += (change[i] * change[j]) / PHASES / residualSdV ** 4;
    }
  }
  return mean;
}
