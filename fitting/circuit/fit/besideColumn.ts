import type { CircuitWindow } from '../window/circuitWindow.ts';
import { circuitJacobian } from './circuitJacobian.ts';
import type { FittedCircuit } from './fitCircuit.ts';

/**
 * A further column beside a fitted circuit: its square free of the circuit's own columns, what the residuals pull it
 * by, and how the parameters answer to it.
 *
 * @param jacobian the circuit's own columns, where several columns are held beside them
 */
export function beside(
  window: CircuitWindow,
  circuit: FittedCircuit,
  column: Float64Array,
  residuals: Float64Array | null,
  jacobian = circuitJacobian(window, circuit),
): { free: number; pull: number; response: number[] } {
  const along = jacobian.map((own) => dot(own, column));
  const covariance = circuit.covariance as readonly (readonly number[])[];
  const variance = circuit.residualSdV ** 2;
  const response = covariance.map(
    (row) => -row.reduce((sum, entry, j) => sum + entry * along[j], 0) / variance,
  );
  const free = dot(column, column) + along.reduce((sum, value, i) => sum + value * response[i], 0);
  let pull = residuals === null ? 0 : dot(column, residuals);
  if (residuals !== null)
    jacobian.forEach((own, i) => {
      pull += response[i] * dot(own, residuals);
    });
  return { free: Math.max(free, 0), pull, response };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k] * b[k];
  return sum;
}
