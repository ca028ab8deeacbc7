import { R0 } from './cellModel.ts';
import { leftOut } from './exponentialWeights.ts';
import type { StackState } from './stackState.ts';

export interface StepTolerance {
  /** Bound on the estimated local error of each cell voltage in one step, V. */
  readonly voltageV: number;
  /** The same for each cell temperature, K. */
  readonly temperatureK: number;
}

/** What the cubics leave out: of R0 i and of each branch's drive, in volts; of the heat's effect, in kelvin. */
export function localError(state: StackState, tolerance: StepTolerance, h: number): number {
  let volts = 0;
  let kelvin = 0;
  for (let k = 0; k < state.cells.length; k++) {
    const cell = state.cells[k];
    const p = state.parameters[k];
    const i = state.nodeCurrentA;
    const at = 4 * k;
    volts = Math.max(volts, p[R0] * leftOut(i[at], i[at + 1], i[at + 2], i[at + 3]));
    for (let j = 0; j < cell.branchCount; j++) volts = Math.max(volts, driveLeftOut(state, k, j));
    const thermal = cell.model.thermal;
    if (thermal === null) continue;
    const q = state.nodeHeatW;
    const t = state.nodeTemperatureC;
    const c = (h / thermal.heatCapacityJPerK) * leftOut(q[at], q[at + 1], q[at + 2], q[at + 3]);
    // The temperature itself is exact where the heat is; a tenth of what a cubic misses of it keeps its integral good.
    const d = 0.1 * leftOut(t[at], t[at + 1], t[at + 2], t[at + 3]);
    kelvin = Math.max(kelvin, c, d);
  }
  return Math.max(volts / tolerance.voltageV, kelvin / tolerance.temperatureK);
}

function driveLeftOut(state: StackState, k: number, j: number): number {
  const p = state.parameters[k];
  const v = state.nodeBranchV;
  const i = state.nodeCurrentA;
  const branch = 4 * (k * state.branches + j);
  const rate = p[state.branchAt(k, 0, j) + 1];
  const drive = (a: number) => {
    const b = state.branchAt(k, a, j);
    const relative = p[b + 1] / rate;
    return (p[b] / rate) * i[4 * k + a] + (1 - relative) * v[branch + a];
  };
  return leftOut(drive(0), drive(1), drive(2), drive(3));
}
