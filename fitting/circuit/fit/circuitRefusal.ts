import { circuitValue, type FittedCircuit } from './fitCircuit.ts';
import type { TauRange } from './tauRange.ts';

/** Why a number of branches was not taken. */
export type CircuitRefusal =
  | 'too-few-rows'
  | 'not-converged'
  | 'not-identifiable'
  | 'negative-resistance'
  | 'tau-below-sampling'
  | 'tau-beyond-record'
  | 'tau-uncertain'
  | 'resistance-not-significant'
  | 'branches-coincide'
  | 'slope-not-significant'
  | 'aicc-higher';

/** A branch with a time constant below this share of the interval just after the edges is refused. */
export const SHORTEST_OF_INTERVAL = 0.7;

/**
 * A branch with a time constant above this multiple of the time from the first edge to the end is refused; while an
 * earlier current is still at work, nothing so slow can be separated from it.
 */
const LONGEST_OF_LENGTH = 1.6;
const LONGEST_WHILE_RELAXING = 1;

/** Why a circuit is not taken; null where the data determine it. */
export function refusalOf(
  circuit: FittedCircuit,
  covariance: readonly (readonly number[])[] | null,
  range: TauRange,
): CircuitRefusal | null {
  if (!circuit.converged) return 'not-converged';
  const longest = circuit.history > 0 ? LONGEST_WHILE_RELAXING : LONGEST_OF_LENGTH;
  const tau = (i: number): number => circuitValue(circuit, `tau${i}S`);
  for (let i = 1; i <= circuit.branches; i++) {
    if (tau(i) < SHORTEST_OF_INTERVAL * range.intervalS) return 'tau-below-sampling';
    if (tau(i) > longest * range.lengthS) return 'tau-beyond-record';
    if (circuitValue(circuit, `r${i}Ohm`) < 0) return 'negative-resistance';
    if (i > 1 && tau(i) < 2 * tau(i - 1)) return 'branches-coincide';
  }
  // What decays as quickly as a branch is that branch's, or what the branches do not fit: not a drift.
  if (circuit.history > circuit.branches && circuit.branches > 0) {
    if (circuitValue(circuit, 'tauDriftS') < 2 * tau(circuit.branches)) return 'branches-coincide';
  }
  if (covariance === null || !covariance.every((row, i) => Number.isFinite(row[i])))
    return 'not-identifiable';
  const error = (name: string): number => {
    const index = circuit.parameters.findIndex((parameter) => parameter.name === name);
    return index < 0 ? Infinity : Math.sqrt(covariance[index][index]);
  };
  for (let i = 1; i <= circuit.branches; i++) {
    if (error(`tau${i}S`) > 0.5 * tau(i)) return 'tau-uncertain';
    if (error(`r${i}Ohm`) * 2.5 > circuitValue(circuit, `r${i}Ohm`)) return 'resistance-not-significant';
  }
  const drifts = circuit.history > circuit.branches;
  // By the fit's own error: what quantisation leaves open of a slope is no reason to give the slope to a branch.
  const slope = circuit.parameters.find(({ name }) => name === 'slopeVPerAs');
  if (
    slope !== undefined &&
    !drifts &&
    !(slope.value > 3 * (slope.standardError ?? Number.POSITIVE_INFINITY))
  ) {
    return 'slope-not-significant';
  }
  return null;
}
