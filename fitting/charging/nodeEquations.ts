import { OCV, R0, SLOPE } from './cellModel.ts';
import { exponentialWeights, INTEGRAL, WEIGHTS_LENGTH } from './exponentialWeights.ts';
import type { StackState } from './stackState.ts';

/**
 * The equations of a cell at the nodes of a step: SOC, branches, voltage and temperature from the cell's current and heat
 * at the nodes, integrated exactly under the cubics through them.
 */
export class NodeEquations {
  readonly weights: Float64Array;
  /** Slots of a cell in `weights`: its heat balance first, then its branches. */
  readonly slots: number;
  /** Branch voltages at nodes 1 to 3 apart from what the currents at these nodes add; three for each branch. */
  readonly fixedBranchV: Float64Array;
  private readonly state: StackState;
  private readonly temperatureToleranceK: number;
  private readonly weightsX: Float64Array;

  constructor(state: StackState, temperatureToleranceK: number) {
    const n = state.cells.length;
    this.state = state;
    this.temperatureToleranceK = temperatureToleranceK;
    this.slots = state.branches + 1;
    this.weights = new Float64Array(n * this.slots * WEIGHTS_LENGTH);
    this.weightsX = new Float64Array(n * this.slots).fill(-1);
    this.fixedBranchV = new Float64Array(3 * n * state.branches);
  }

  prepareWeights(h: number): void {
    const { state, slots } = this;
    for (let k = 0; k < state.cells.length; k++) {
      const cell = state.cells[k];
      const thermal = cell.model.thermal;
      if (thermal !== null)
        this.prepareSlot(k * slots, (h * thermal.heatTransferWPerK) / thermal.heatCapacityJPerK);
      for (let j = 0; j < cell.branchCount; j++)
        this.prepareSlot(k * slots + 1 + j, h * state.parameters[k][state.branchAt(k, 0, j) + 1]);
    }
  }

  private prepareSlot(slot: number, x: number): void {
    const { weights, weightsX, slots } = this;
    if (weightsX[slot] === x) return;
    weightsX[slot] = x;
    // Equal cells beside each other have equal weights.
    const same = slot - slots;
    if (same >= 0 && weightsX[same] === x)
      weights.copyWithin(slot * WEIGHTS_LENGTH, same * WEIGHTS_LENGTH, (same + 1) * WEIGHTS_LENGTH);
    else exponentialWeights(x, weights, slot * WEIGHTS_LENGTH);
  }

  /** Reads the cell's curves at the present guess of the nodes; what cannot have changed since the iteration before is left. */
  readNodes(k: number, iteration: number, socMoved: boolean): void {
    const { state } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const [s, t] = [state.socStretch[k], state.temperatureStretch[k]];
    const ocvToo = iteration === 0 || socMoved || cell.ocv.dependsOnTemperature;
    const parametersToo = iteration === 0 || !cell.constantParameters;
    for (let a = 1; a < 4; a++) {
      const soc = state.nodeSoc[4 * k + a];
      const tC = state.nodeTemperatureC[4 * k + a];
      if (ocvToo) cell.ocv.evaluate(soc, tC, s, t, p, a * cell.stride);
      if (parametersToo) cell.evaluateParameters(soc, tC, s, t, p, a * cell.stride);
    }
  }

  /** Branch voltages at the nodes apart from what the currents at nodes 1 to 3 add. */
  fixBranches(k: number, h: number): void {
    const { state, weights, fixedBranchV } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const i0 = state.nodeCurrentA[4 * k];
    for (let j = 0; j < cell.branchCount; j++) {
      const branch = k * state.branches + j;
      const w = (k * this.slots + 1 + j) * WEIGHTS_LENGTH;
      const first = state.branchAt(k, 0, j);
      const rate = p[first + 1];
      const g0 = p[first] * i0;
      const v = state.nodeBranchV;
      const d1 = (rate - p[first + cell.stride + 1]) * v[4 * branch + 1];
      const d2 = (rate - p[first + 2 * cell.stride + 1]) * v[4 * branch + 2];
      const d3 = (rate - p[first + 3 * cell.stride + 1]) * v[4 * branch + 3];
      for (let a = 0; a < 3; a++) {
        const row = w + 4 * a;
        fixedBranchV[3 * branch + a] =
          weights[w + 12 + a] * state.branchV[branch] +
          h * (weights[row] * g0 + weights[row + 1] * d1 + weights[row + 2] * d2 + weights[row + 3] * d3);
      }
    }
  }

  applySoc(k: number, h: number): void {
    const { state } = this;
    const i = state.nodeCurrentA;
    const at = 4 * k;
    const charge = h * state.cells[k].socPerAs;
    for (let a = 1; a < 4; a++) {
      const w = 4 * (a - 1);
      const sum =
        INTEGRAL[w] * i[at] +
        INTEGRAL[w + 1] * i[at + 1] +
        INTEGRAL[w + 2] * i[at + 2] +
        INTEGRAL[w + 3] * i[at + 3];
      state.nodeSoc[at + a] = state.soc[k] + charge * sum;
    }
  }

  /** SOC, branches and voltages from the cell's current. */
  applyCurrent(k: number, h: number): void {
    const { state } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const at = 4 * k;
    for (let a = 1; a < 4; a++) {
      const q = a * cell.stride;
      // The curve was read at the guessed SOC: carried on to the new one by its slope.
      state.nodeOcvV[at + a] = p[q + OCV] - p[q + SLOPE] * state.nodeSoc[at + a];
    }
    this.applySoc(k, h);
    for (let a = 1; a < 4; a++) {
      const q = a * cell.stride;
      state.nodeOcvV[at + a] += p[q + SLOPE] * state.nodeSoc[at + a];
      state.nodeVoltageV[at + a] = state.nodeOcvV[at + a] + p[q + R0] * state.nodeCurrentA[at + a];
    }
    for (let j = 0; j < cell.branchCount; j++) this.applyBranch(k, j, h);
  }

  /** Voltage of a branch at nodes 1 to 3, added to the cell's voltage there. */
  private applyBranch(k: number, j: number, h: number): void {
    const { state, weights, fixedBranchV } = this;
    const { nodeBranchV, nodeVoltageV, nodeCurrentA: i } = state;
    const p = state.parameters[k];
    const stride = state.cells[k].stride;
    const branch = k * state.branches + j;
    const b = state.branchAt(k, 1, j);
    const at = 4 * k;
    const d1 = h * p[b] * i[at + 1];
    const d2 = h * p[b + stride] * i[at + 2];
    const d3 = h * p[b + 2 * stride] * i[at + 3];
    let w = (k * this.slots + 1 + j) * WEIGHTS_LENGTH;
    for (let a = 0; a < 3; a++) {
      const voltage =
        fixedBranchV[3 * branch + a] + weights[w + 1] * d1 + weights[w + 2] * d2 + weights[w + 3] * d3;
      nodeBranchV[4 * branch + a + 1] = voltage;
      nodeVoltageV[at + a + 1] += voltage;
      w += 4;
    }
  }

  /** Heat and temperature at the nodes. @returns the largest change of temperature, in tolerances. */
  applyHeat(k: number, h: number): number {
    const { state } = this;
    for (let a = 1; a < 4; a++) state.heatAtNode(k, a);
    return this.applyHeatFlow(k, h) / this.temperatureToleranceK;
  }

  applyHeatFlow(k: number, h: number): number {
    const { state, weights } = this;
    const thermal = state.cells[k].model.thermal;
    if (thermal === null) return 0;
    const at = 4 * k;
    const q = state.nodeHeatW;
    const excess = state.temperatureC[k] - state.ambientC;
    const w = k * this.slots * WEIGHTS_LENGTH;
    const scale = h / thermal.heatCapacityJPerK;
    let change = 0;
    for (let a = 0; a < 3; a++) {
      const r = w + 4 * a;
      const heat =
        weights[r] * q[at] +
        weights[r + 1] * q[at + 1] +
        weights[r + 2] * q[at + 2] +
        weights[r + 3] * q[at + 3];
      const next = state.ambientC + weights[w + 12 + a] * excess + scale * heat;
      change = Math.max(change, Math.abs(next - state.nodeTemperatureC[at + a + 1]));
      state.nodeTemperatureC[at + a + 1] = next;
    }
    return change;
  }
}
