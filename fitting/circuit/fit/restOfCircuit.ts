import { type CircuitWindow, windowCharge } from '../window/circuitWindow.ts';
import type { ChosenCircuit } from './chosenCircuit.ts';
import { circuitValue } from './fitCircuit.ts';

/**
 * Voltage that a fitted circuit comes to rest at after the end of its window: OCV + slope · charge moved.
 *
 * @returns null where the circuit has no covariance
 */
export function restOfCircuit(
  window: CircuitWindow,
  chosen: ChosenCircuit,
): { ocvV: number; standardUncertaintyV: number } | null {
  const { circuit, covariance } = chosen;
  if (covariance === null) return null;
  const ocvV = circuitValue(circuit, 'ocvV');
  if (!circuit.withSlope) return { ocvV, standardUncertaintyV: Math.sqrt(covariance[0][0]) };
  const charge = windowCharge(window)[window.timeS.length - 1];
  const variance = covariance[0][0] + 2 * charge * covariance[0][1] + charge * charge * covariance[1][1];
  return {
    ocvV: ocvV + charge * circuitValue(circuit, 'slopeVPerAs'),
    standardUncertaintyV: Math.sqrt(Math.max(variance, 0)),
  };
}
