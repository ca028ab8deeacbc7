import type { CircuitWindow } from '../window/circuitWindow.ts';
import type { ChosenCircuit } from './chosenCircuit.ts';
import { circuitValue, fitCircuit } from './fitCircuit.ts';

/**
 * Adds to a chosen circuit's covariance what the uncertainty of the voltage channel's lag contributes: the
 * circuit is fitted once more through a lag one standard error longer, and the outer product of the changes of
 * its parameters is added (propagation to first order, GUM 5.1.2).
 *
 * @param longer the same window seen through the longer lag
 * @returns without covariance where that second fit does not settle: an error without the lag's part would be too small
 */
export function withLagUncertainty(chosen: ChosenCircuit, longer: CircuitWindow): ChosenCircuit {
  const { circuit, covariance } = chosen;
  if (covariance === null) return chosen;
  const { branches, withSlope, history } = circuit;
  const taus = Array.from({ length: branches }, (_, i) => circuitValue(circuit, `tau${i + 1}S`));
  if (history > branches) taus.push(circuitValue(circuit, 'tauDriftS'));
  const again = fitCircuit(longer, { branches, withSlope, history, starts: [taus], quick: true });
  if (!again.converged) return { ...chosen, covariance: null };
  const change = circuit.parameters.map(({ value }, i) => again.parameters[i].value - value);
  return {
    ...chosen,
    covariance: covariance.map((row, i) => row.map((entry, j) => entry + change[i] * change[j])),
  };
}
