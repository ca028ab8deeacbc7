import { applyQTransposed, factorQr, solveR } from '../numeric/index.ts';
import { angularFrequencies, magnitudes, type Spectrum } from './spectrum.ts';

/** Parameters of a chain beside its elements: R, L and C. */
export const BESIDE_ELEMENTS = 3;

/** A chain of resistances in parallel with capacitances, in series with L, R and C, fitted to a spectrum. */
export interface VoigtChain {
  readonly elements: number;
  readonly timeConstantsS: Float64Array;
  /** May be negative: too many elements fit the noise. */
  readonly resistancesOhm: Float64Array;
  /** μ = 1 − Σ|R of the negative ones| / Σ|R of the others|. */
  readonly mu: number;
  /** (Z − chain)/|Z| of each point. */
  readonly realResidual: Float64Array;
  readonly imaginaryResidual: Float64Array;
  readonly residualSumOfSquares: number;
}

/**
 * Fits R + jωL + 1/(jωC) + Σ Rₖ/(1 + jωτₖ) to real and imaginary part together, each point weighted by 1/|Z|². The time
 * constants are spaced evenly in their logarithm from 1/ω of the highest to 1/ω of the lowest frequency, so the problem
 * is linear and is solved by QR (B. A. Boukamp, J. Electrochem. Soc. 142 (1995) 1885).
 */
export function fitVoigtChain(spectrum: Spectrum, elements: number): VoigtChain {
  const omega = angularFrequencies(spectrum);
  const count = omega.length;
  const weight = magnitudes(spectrum).map((magnitude) => 1 / magnitude);
  const timeConstantsS = timeConstants(omega, elements);
  const columns = chainColumns(omega, timeConstantsS);
  const right = new Float64Array(2 * count);
  for (let i = 0; i < count; i++) {
    right[i] = spectrum.realOhm[i] * weight[i];
    right[count + i] = spectrum.imaginaryOhm[i] * weight[i];
    for (const column of columns) {
      column[i] *= weight[i];
      column[count + i] *= weight[i];
    }
  }
  const factor = factorQr(columns.map((column) => column.slice()));
  const rotated = right.slice();
  applyQTransposed(factor, rotated);
  const solution = solveR(factor, rotated);
  const residual = right.map((value, i) =>
    columns.reduce((rest, column, k) => rest - solution[k] * column[i], value),
  );
  const resistancesOhm = solution.slice(BESIDE_ELEMENTS);
  return {
    elements,
    timeConstantsS,
    resistancesOhm,
    mu: muOf(resistancesOhm),
    realResidual: residual.slice(0, count),
    imaginaryResidual: residual.slice(count),
    residualSumOfSquares: residual.reduce((sum, value) => sum + value * value, 0),
  };
}

function timeConstants(omega: Float64Array, elements: number): Float64Array {
  const first = -Math.log(Math.max(...omega));
  const last = -Math.log(Math.min(...omega));
  if (elements === 1) return Float64Array.of(Math.exp((first + last) / 2));
  return Float64Array.from({ length: elements }, (_, k) =>
    Math.exp(first + (k / (elements - 1)) * (last - first)),
  );
}

/** Columns of R, L, 1/C and each element: real parts, then imaginary parts. The last two of the first three are scaled. */
function chainColumns(omega: Float64Array, timeConstantsS: Float64Array): Float64Array[] {
  const count = omega.length;
  const column = (of: (w: number) => readonly [number, number]): Float64Array => {
    const values = new Float64Array(2 * count);
    omega.forEach((w, i) => {
      [values[i], values[count + i]] = of(w);
    });
    return values;
  };
  const highest = Math.max(...omega);
  const lowest = Math.min(...omega);
  return [
    column(() => [1, 0]),
    column((w) => [0, w / highest]),
    column((w) => [0, -lowest / w]),
    ...Array.from(timeConstantsS, (tau) =>
      column((w) => {
        const square = 1 + (w * tau) ** 2;
        return [1 / square, (-w * tau) / square];
      }),
    ),
  ];
}

function muOf(resistances: Float64Array): number {
  let [negative, positive] = [0, 0];
  for (const resistance of resistances) {
    if (resistance < 0) negative -= resistance;
    else positive += resistance;
  }
  return positive === 0 ? Number.NEGATIVE_INFINITY : 1 - negative / positive;
}
