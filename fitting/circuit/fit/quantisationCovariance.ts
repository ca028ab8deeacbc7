import { circuitColumns } from '../response/circuitColumns.ts';
import { type CircuitWindow, scoredValues } from '../window/circuitWindow.ts';
import { circuitVoltage } from './circuitResiduals.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

/**
 * What the quantisation of the voltage adds to the covariance of a fitted circuit.
 *
 * A reading rounded to steps of q is off by a bias that depends on where between two steps the voltage lies,
 * of amplitude (q/π)·exp(−2π²σ²/q²) with noise σ (the first harmonic of a quantiser with Gaussian dither: B.
 * Widrow and I. Kollár, Quantization Noise, Cambridge 2008, chapter from memory). Along a slow relaxation that bias
 * keeps its sign for many rows, which no residual shows, because the fit follows it. So rows are gathered
 * into blocks in which the fitted voltage crosses half a step, the bias is taken as one random number for
 * each block, and carried over: (JᵀJ)⁻¹ (Σ σ_b² s_b s_bᵀ) (JᵀJ)⁻¹ with s_b the sum of J's rows in the block.
 * On the safe side where blocks are short, because neighbouring ones cancel in truth.
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
  const noiseSquare = Math.max(0, residualSdV ** 2 - resolutionV ** 2 / 12);
  const amplitude = (resolutionV / Math.PI) * Math.exp((-2 * Math.PI ** 2 * noiseSquare) / resolutionV ** 2);
  if (amplitude < 0.01 * residualSdV) return null;
  const columns = jacobianColumns(window, circuit);
  const fitted = scoredValues(window, circuitVoltage(window, circuit));
  const size = columns.length;
  const spread = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  const sums = new Float64Array(size);
  const close = (): void => {
    for (let i = 0; i < size; i++) for (let j = 0; j < size; j++) spread[i][j] += sums[i] * sums[j];
    sums.fill(0);
  };
  let block = Math.floor((2 * fitted[0]) / resolutionV);
  for (let k = 0; k < fitted.length; k++) {
    const here = Math.floor((2 * fitted[k]) / resolutionV);
    if (here !== block) close();
    block = here;
    for (let i = 0; i < size; i++) sums[i] += columns[i][k];
  }
  close();
  // Mean square of half a period of the bias; covariance is s²(JᵀJ)⁻¹.
  const scale = ((2 / Math.PI) * amplitude) ** 2 / residualSdV ** 4;
  const half = multiply(covariance, spread);
  return multiply(half, covariance).map((row) => row.map((entry) => entry * scale));
}

function multiply(a: readonly (readonly number[])[], b: readonly (readonly number[])[]): number[][] {
  return a.map((row) => b[0].map((_, j) => row.reduce((sum, entry, k) => sum + entry * b[k][j], 0)));
}

/** ∂V/∂parameter over the rows that count, in the order of the circuit's parameters. */
function jacobianColumns(window: CircuitWindow, circuit: FittedCircuit): Float64Array[] {
  const { branches, withSlope } = circuit;
  const rows = window.scoredRows;
  const make = (count: number): Float64Array[] => Array.from({ length: count }, () => new Float64Array(rows));
  const firstBranch = withSlope ? 3 : 2;
  const basis = make(firstBranch + branches);
  const derivatives = make(branches);
  const taus = Array.from({ length: branches }, (_, i) => circuitValue(circuit, `tau${i + 1}S`));
  circuitColumns(window, withSlope).fill(Float64Array.from(taus, Math.log), basis, derivatives, true);
  const columns = withSlope ? [basis[0], basis[2], basis[1]] : [basis[0], basis[1]];
  for (let i = 0; i < branches; i++) {
    const factor = circuitValue(circuit, `r${i + 1}Ohm`) / taus[i];
    columns.push(
      basis[firstBranch + i],
      derivatives[i].map((value) => value * factor),
    );
  }
  return columns;
}
