import { fitLinear } from '../../fitting/least-squares/linear/linear.ts';
import type { FitResult } from '../../fitting/least-squares/types.ts';

/** SOC is kept this far from 0 and 1, where the model is not defined. */
const CLAMP = 1e-4;

/** Constants K0…K4 of the combined model. */
export type CombinedConstants = readonly [number, number, number, number, number];

function columnsAt(soc: number): [number, number, number, number, number] {
  const z = Math.min(Math.max(soc, CLAMP), 1 - CLAMP);
  return [1, -1 / z, -z, Math.log(z), Math.log(1 - z)];
}

/**
 * OCV = K0 − K1/z − K2 z + K3 ln z + K4 ln(1 − z): the combined model of G. L. Plett, J. Power Sources 134
 * (2004) 262.
 */
export function combinedOcv(constants: CombinedConstants, soc: number): number {
  return columnsAt(soc).reduce((sum, column, i) => sum + column * constants[i], 0);
}

/**
 * Fits the combined model to OCV points; it is linear in its constants.
 *
 * @throws RangeError for fewer than five points
 */
export function fitCombined(soc: readonly number[], ocvV: readonly number[]): FitResult {
  if (soc.length < 5) throw new RangeError(`Five constants need five points or more, got ${soc.length}`);
  const rows = soc.map(columnsAt);
  return fitLinear({
    columns: [0, 1, 2, 3, 4].map((j) => Float64Array.from(rows, (row) => row[j])),
    y: Float64Array.from(ocvV),
    parameters: [0, 1, 2, 3, 4].map((j) => ({ name: `K${j}`, unit: 'V' })),
  });
}
