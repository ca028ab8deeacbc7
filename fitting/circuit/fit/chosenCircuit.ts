import type { CircuitRefusal } from './circuitRefusal.ts';
import type { FittedCircuit } from './fitCircuit.ts';
import type { ResidualCheck } from './residualCheck.ts';

/** One contender. */
export interface CircuitCandidate {
  readonly branches: number;
  readonly withSlope: boolean;
  /** With a term for a drift slower than the branches, left by earlier currents. */
  readonly withDrift: boolean;
  readonly aicc: number | null;
  readonly residualSdV: number | null;
  readonly chosen: boolean;
  readonly reason: CircuitRefusal | null;
}

/** The circuit that the data carry, with the errors that its residuals allow. */
export interface ChosenCircuit {
  readonly circuit: FittedCircuit;
  readonly residuals: ResidualCheck;
  /** How much correlated residuals widened the standard errors. */
  readonly standardErrorFactor: number;
  /**
   * In the order of the circuit's parameters, widened for correlated residuals and for quantisation; null
   * where there is none.
   */
  readonly covariance: readonly (readonly number[])[] | null;
  /** The part of it that the moments of the edges contribute; null where it was not looked at. */
  readonly edgeCovariance: readonly (readonly number[])[] | null;
  /** AICc on the independent rows. */
  readonly aicc: number | null;
  readonly candidates: readonly CircuitCandidate[];
  /**
   * Beside a circuit with an OCV slope: the one with as many branches and none, where the data do not rule it out. It need not be
   * acceptable.
   */
  readonly withoutSlope: FittedCircuit | null;
  /**
   * The other circuits that were fitted, also those whose parameters the data do not determine, with their Akaike weights: what they
   * say of the voltage may be right where it is not what the chosen one says (Burnham, Anderson, Model Selection and Multimodel
   * Inference, 2002, section 4.3, from memory).
   */
  readonly others: readonly { readonly circuit: FittedCircuit; readonly weight: number }[];
  /** A drift that the circuit does not hold, where it was looked for: its part is in the covariance. In V/s. */
  readonly unseenDrift: UnseenEffect | null;
}

/** An effect that may be there or not, by its chance: mean square of its size, and how the parameters would move for one of size 1. */
export interface UnseenEffect {
  readonly square: number;
  readonly response: readonly number[];
}

/**
 * Standard error of a parameter of the chosen circuit, from the widened covariance; null where there is none.
 */
export function chosenError(chosen: ChosenCircuit, name: string): number | null {
  const index = chosen.circuit.parameters.findIndex((parameter) => parameter.name === name);
  return index < 0 || chosen.covariance === null ? null : Math.sqrt(chosen.covariance[index][index]);
}
