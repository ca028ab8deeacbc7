import { momentUncertainty } from '../../records/index.ts';
import { scoredValues } from '../window/circuitWindow.ts';
import type { EdgeShift, PulseWindow } from '../window/pulseWindow.ts';
import { beside } from './besideColumn.ts';
import type { ChosenCircuit } from './chosenCircuit.ts';
import { circuitResiduals } from './circuitResiduals.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

/** Where the edges of a pulse lie, as far as its rows and its voltage tell. */
export interface EdgePlace {
  readonly shift: EdgeShift;
  /** Standard uncertainty of a shift of both edges together, which no voltage tells, in s. */
  readonly togetherS: number;
}

/**
 * Both edges later by one and the same time cannot be distinguished from a smaller R0 and larger branches: R0 + Σ Rⱼ is the
 * same and each Rⱼ·e^(δ/τⱼ). How far the end lies from where it is taken, beside the beginning, the relaxation does
 * tell. What the rows leave open beforehand is in the prior.
 */
export function placeOfEdges(part: PulseWindow, offFurtherS: number): EdgePlace {
  const { on, off } = part;
  const a = on.halfWidthS;
  if (off === null) return { shift: { onS: 0, offS: 0 }, togetherS: momentUncertainty(on) };
  const b = off.halfWidthS;
  const apart = Math.max(-a - b, Math.min(a + b, offFurtherS));
  const low = Math.max(-a, -b - apart);
  const high = Math.min(a, b - apart);
  const middle = (low + high) / 2;
  const halfWidthS = Math.max(0, (high - low) / 2);
  return { shift: { onS: middle, offS: middle + apart }, togetherS: momentUncertainty({ halfWidthS }) };
}

/** Prior standard deviation of how far the two edges lie from their middles, one against the other. */
function priorApart({ on, off }: PulseWindow): number {
  return off === null ? 0 : Math.hypot(momentUncertainty(on), momentUncertainty(off));
}

/**
 * How much further from the pulse's beginning its end lies than a window has it: the linear least-squares estimate
 * beside a fitted circuit, with the rows' own span as prior.
 *
 * @returns 0 where the pulse's end is not in the window
 */
export function endFurther(part: PulseWindow, circuit: FittedCircuit, alreadyS: number): number {
  const prior = priorApart(part);
  if (!(prior > 0) || circuit.covariance === null || !(circuit.residualSdV > 0)) return 0;
  const column = laterEnd(part, circuit);
  const residuals = circuitResiduals(part.window, circuit);
  const { free, pull } = beside(part.window, circuit, column, residuals);
  const weight = (circuit.residualSdV / prior) ** 2;
  return (pull - alreadyS * weight) / (free + weight);
}

/**
 * Adds to a chosen circuit's covariance what the moments of the edges leave open: their distance, estimated beside
 * the circuit with the rows' span as prior (a nuisance parameter: its part is b bᵀ Var, b = −C Jᵀz/σ²), and both
 * together, which is not estimated at all.
 */
export function withEdgeUncertainty(
  chosen: ChosenCircuit,
  part: PulseWindow,
  togetherS: number,
): ChosenCircuit {
  const { circuit, covariance } = chosen;
  if (covariance === null) return chosen;
  const together = changesTogether(circuit).map((change) => change * togetherS);
  const apart = changesApart(chosen, part);
  return {
    ...chosen,
    edgeCovariance: circuit.parameters.map((_, i) =>
      circuit.parameters.map((__, j) => together[i] * together[j] + apart[i] * apart[j]),
    ),
    covariance: covariance.map((row, i) =>
      row.map((entry, j) => entry + together[i] * together[j] + apart[i] * apart[j]),
    ),
  };
}

/** Change of each parameter for edges that both come 1 s earlier. */
function changesTogether(circuit: FittedCircuit): number[] {
  const perSecond = (i: number): number =>
    circuitValue(circuit, `r${i}Ohm`) / circuitValue(circuit, `tau${i}S`);
  const numbers = Array.from({ length: circuit.branches }, (_, i) => i + 1);
  const slope = circuit.withSlope ? circuitValue(circuit, 'slopeVPerAs') : 0;
  return circuit.parameters.map(({ name }) => {
    if (name === 'r0Ohm') return -slope - numbers.reduce((sum, i) => sum + perSecond(i), 0);
    const branch = numbers.find((i) => name === `r${i}Ohm`);
    return branch === undefined ? 0 : perSecond(branch);
  });
}

/** Change of each parameter for one standard uncertainty of the edges' distance. */
function changesApart(chosen: ChosenCircuit, part: PulseWindow): number[] {
  const { circuit, standardErrorFactor } = chosen;
  const prior = priorApart(part);
  if (!(prior > 0) || circuit.covariance === null || !(circuit.residualSdV > 0)) {
    return circuit.parameters.map(() => 0);
  }
  const { free, response } = beside(part.window, circuit, laterEnd(part, circuit), null);
  const variance = (circuit.residualSdV * standardErrorFactor) ** 2;
  const sd = 1 / Math.sqrt(free / variance + 1 / prior ** 2);
  return response.map((change) => change * sd);
}

/** ∂V/∂(time of the pulse's end) over the rows that count. */
function laterEnd(part: PulseWindow, circuit: FittedCircuit): Float64Array {
  const { window, rows, off } = part;
  const column = new Float64Array(window.timeS.length);
  if (off === null) return column;
  let first = 0;
  while (first < rows.length && rows[first] < off.settled) first++;
  // The row before is the moment of the edge, still with the pulse's current.
  const endS = window.timeS[first - 1];
  const loadA = window.currentA[first - 1] - window.currentA[first];
  const slope = circuit.withSlope ? circuitValue(circuit, 'slopeVPerAs') : 0;
  for (let k = first; k < column.length; k++) column[k] = slope * loadA;
  for (let i = 1; i <= circuit.branches; i++) {
    const tauS = circuitValue(circuit, `tau${i}S`);
    const perSecond = (loadA * circuitValue(circuit, `r${i}Ohm`)) / tauS;
    for (let k = first; k < column.length; k++) {
      column[k] += perSecond * Math.exp((endS - window.timeS[k]) / tauS);
    }
  }
  return scoredValues(window, column);
}
