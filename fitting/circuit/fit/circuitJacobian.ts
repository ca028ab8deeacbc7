import { circuitColumns } from '../response/circuitColumns.ts';
import { tauOfStates } from '../sums/gramLayout.ts';
import type { CircuitWindow } from '../window/circuitWindow.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

/** ∂V/∂parameter over the rows that count, in the order of the circuit's parameters. */
export function circuitJacobian(window: CircuitWindow, circuit: FittedCircuit): Float64Array[] {
  const { branches, withSlope, history } = circuit;
  const rows = window.scoredRows;
  const make = (count: number): Float64Array[] => Array.from({ length: count }, () => new Float64Array(rows));
  const firstBranch = withSlope ? 3 : 2;
  const states = branches + history;
  const basis = make(firstBranch + states);
  const derivatives = make(states);
  const value = (name: string): number => circuitValue(circuit, name);
  const taus = Array.from({ length: branches }, (_, i) => value(`tau${i + 1}S`));
  const amplitudes = Array.from({ length: branches }, (_, i) => value(`r${i + 1}Ohm`));
  if (history > 0) for (let i = 1; i <= branches; i++) amplitudes.push(value(`left${i}V`));
  if (history > branches) {
    taus.push(value('tauDriftS'));
    amplitudes.push(value('driftV'));
  }
  circuitColumns(window, circuit).fill(Float64Array.from(taus, Math.log), basis, derivatives, true);
  const ofTau = (tau: number): Float64Array => {
    const column = new Float64Array(rows);
    tauOfStates(circuit).forEach((own, state) => {
      if (own !== tau) return;
      const factor = amplitudes[state] / taus[tau];
      for (let k = 0; k < rows; k++) column[k] += factor * derivatives[state][k];
    });
    return column;
  };
  const columns = withSlope ? [basis[0], basis[2], basis[1]] : [basis[0], basis[1]];
  for (let i = 0; i < branches; i++) columns.push(basis[firstBranch + i], ofTau(i));
  for (let i = 0; i < history; i++) columns.push(basis[firstBranch + branches + i]);
  if (history > branches) columns.push(ofTau(branches));
  return columns;
}
