import { scoredValues, windowCharge } from '../window/circuitWindow.ts';
import type { PulseWindow } from '../window/pulseWindow.ts';
import { beside } from './besideColumn.ts';
import type { ChosenCircuit } from './chosenCircuit.ts';
import { circuitValue } from './fitCircuit.ts';

/**
 * What an OCV slope that was not fitted leaves open: the charge of the pulse moves the OCV for good, and a window too short to
 * tell that from the slowest branch gives it to the branch. The slope is a nuisance parameter with a normal prior; its part in a
 * parameter's standard error is ∂parameter/∂slope × the slope's standard deviation given the window.
 *
 * @param priorVPerAs standard deviation of the slope before the record is looked at, V per A s
 * @returns by parameter of the circuit; zeros where the slope was fitted
 */
export function slopeOpen(
  { window }: Pick<PulseWindow, 'window'>,
  { circuit, covariance, standardErrorFactor }: ChosenCircuit,
  priorVPerAs: number,
): number[] {
  const none = circuit.parameters.map(() => 0);
  if (circuit.withSlope || circuit.covariance === null || covariance === null) return none;
  if (!(circuit.residualSdV > 0 && priorVPerAs > 0)) return none;
  const charge = scoredValues(window, windowCharge(window));
  const { free, response } = beside(window, circuit, charge, null);
  const variance = (circuit.residualSdV * standardErrorFactor) ** 2;
  const sd = 1 / Math.sqrt(free / variance + 1 / priorVPerAs ** 2);
  return response.map((change) => change * sd);
}

/** Adds to a chosen circuit's covariance what {@link slopeOpen} leaves open. */
export function withSlopeUncertainty(chosen: ChosenCircuit, slope: readonly number[]): ChosenCircuit {
  const { covariance } = chosen;
  if (covariance === null) return chosen;
  return {
    ...chosen,
    covariance: covariance.map((row, i) => row.map((entry, j) => entry + slope[i] * slope[j])),
  };
}

/**
 * Adds to the covariance of a circuit with an OCV slope how far its branches lie from those of the circuit without one, where the
 * data rule out neither: what is true lies between the two, anywhere (a rectangle of half their distance on both sides of the
 * middle would do; the whole distance over √3 allows for either end). A covariance is linear and does not see so far.
 */
export function withSharedSlope(chosen: ChosenCircuit): ChosenCircuit {
  const { circuit, covariance, withoutSlope } = chosen;
  if (covariance === null || withoutSlope === null) return chosen;
  const away = circuit.parameters.map(({ name, value }) =>
    /^(r[1-9]|tau)/.test(name) && name !== 'tauDriftS'
      ? (circuitValue(withoutSlope, name) - value) / Math.sqrt(3)
      : 0,
  );
  return {
    ...chosen,
    covariance: covariance.map((row, i) => row.map((entry, j) => entry + away[i] * away[j])),
  };
}
