import { type CircuitWindow, scoredValues } from '../window/circuitWindow.ts';
import { beside } from './besideColumn.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

/** Standard deviation of the drift's rate before the record is looked at, in parts of one over the window's length. */
const PRIOR_RATE = 0.5;

/**
 * What the time constant of a drift leaves open where it lies at its upper bound: the fit has it fixed there, as a straight line,
 * while a drift that bends as much as the noise allows would move the slow branches. In the rate 1/τ the drift is regular at
 * that end, so the rate is a nuisance parameter beside the circuit.
 *
 * @param factor on standard errors for correlated residuals
 * @returns change of each parameter for one standard deviation of the rate; null where the drift's time constant was fitted
 */
export function driftOpen(
  window: CircuitWindow,
  circuit: FittedCircuit,
  factor: number,
): readonly number[] | null {
  const { covariance, parameters, history, branches, residualSdV } = circuit;
  if (covariance === null || history <= branches || !(residualSdV > 0)) return null;
  const index = parameters.findIndex(({ name }) => name === 'tauDriftS');
  if (covariance[index][index] > 0) return null;
  const tauS = circuitValue(circuit, 'tauDriftS');
  const driftV = circuitValue(circuit, 'driftV');
  const { timeS } = window;
  const lengthS = timeS[timeS.length - 1] - timeS[0];
  // ∂V/∂ln τ; the rate and ln τ differ by the factor −1/τ.
  const column = timeS.map((time) => {
    const since = (time - timeS[0]) / tauS;
    return driftV * since * Math.exp(-since);
  });
  const { free, response } = beside(window, circuit, scoredValues(window, column), null);
  const prior = (PRIOR_RATE * tauS) / lengthS;
  const sd = 1 / Math.sqrt(free / (residualSdV * factor) ** 2 + 1 / prior ** 2);
  return response.map((change) => change * sd);
}
