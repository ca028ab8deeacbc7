import { solve3 } from '../numeric/index.ts';
import { OCV, R0, SLOPE } from './cellModel.ts';
import { lawSlopes, type SupplyLaw, type VoltageLaw } from './controlLaw.ts';
import { INTEGRAL, WEIGHTS_LENGTH } from './exponentialWeights.ts';
import type { NodeEquations } from './nodeEquations.ts';
import type { StackState } from './stackState.ts';

/**
 * How the voltages at nodes 1 to 3 of a step answer to the stack current there: V = alpha + matrix × I for each cell. A law
 * on the voltages becomes three equations for the three currents, solved outright.
 */
export class VoltageResponse {
  private readonly state: StackState;
  private readonly equations: NodeEquations;
  private readonly voltageToleranceV: number;
  private readonly alpha: Float64Array;
  private readonly matrix: Float64Array;
  private readonly system = new Float64Array(9);
  private readonly right = new Float64Array(3);
  private readonly inverseColumn = new Float64Array(3);
  private readonly inverse = new Float64Array(9);

  constructor(state: StackState, equations: NodeEquations, voltageToleranceV: number) {
    this.state = state;
    this.equations = equations;
    this.voltageToleranceV = voltageToleranceV;
    this.alpha = new Float64Array(3 * state.cells.length);
    this.matrix = new Float64Array(9 * state.cells.length);
  }

  /** V at nodes 1 to 3 as alpha + matrix × (stack current at nodes 1 to 3). */
  respond(k: number, h: number, iteration: number): void {
    this.equations.readNodes(k, iteration, true);
    this.equations.fixBranches(k, h);
    const { state, alpha, matrix } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const charge = h * cell.socPerAs;
    const i0 = state.nodeCurrentA[4 * k];
    for (let a = 1; a < 4; a++) {
      const q = a * cell.stride;
      const row = 9 * k + 3 * (a - 1);
      const slope = p[q + SLOPE];
      const constant =
        p[q + OCV] + slope * (state.soc[k] + charge * INTEGRAL[4 * (a - 1)] * i0 - state.nodeSoc[4 * k + a]);
      for (let l = 1; l < 4; l++) matrix[row + l - 1] = slope * charge * INTEGRAL[4 * (a - 1) + l];
      matrix[row + a - 1] += p[q + R0];
      alpha[3 * k + a - 1] = constant;
    }
    for (let j = 0; j < cell.branchCount; j++) this.addBranch(k, j, h);
    const { drawA, conductanceS } = state.bypass[k];
    if (drawA !== 0 || conductanceS !== 0) this.throughBypass(k, drawA, conductanceS);
  }

  /** What a branch adds to the response. */
  private addBranch(k: number, j: number, h: number): void {
    const { state, equations, alpha, matrix } = this;
    const { weights, slots, fixedBranchV } = equations;
    const p = state.parameters[k];
    const stride = state.cells[k].stride;
    const b = state.branchAt(k, 1, j);
    const [d1, d2, d3] = [h * p[b], h * p[b + stride], h * p[b + 2 * stride]];
    const fixed = 3 * (k * state.branches + j);
    let w = (k * slots + 1 + j) * WEIGHTS_LENGTH;
    let row = 9 * k;
    for (let a = 0; a < 3; a++) {
      alpha[3 * k + a] += fixedBranchV[fixed + a];
      matrix[row] += weights[w + 1] * d1;
      matrix[row + 1] += weights[w + 2] * d2;
      matrix[row + 2] += weights[w + 3] * d3;
      w += 4;
      row += 3;
    }
  }

  /** Turns the response to the cell's own current into the response to the stack current. */
  private throughBypass(k: number, drawA: number, conductanceS: number): void {
    const { alpha, matrix, system, inverse, inverseColumn } = this;
    const m = 9 * k;
    const c = 3 * k;
    for (let column = 0; column < 3; column++) {
      for (let e = 0; e < 9; e++) system[e] = (e % 4 === 0 ? 1 : 0) + conductanceS * matrix[m + e];
      inverseColumn.fill(0);
      inverseColumn[column] = 1;
      solve3(system, inverseColumn);
      for (let row = 0; row < 3; row++) inverse[3 * row + column] = inverseColumn[row];
    }
    // V = alpha + M i and i = I − draw − g V, so V = (1 + g M)^−1 (alpha + M (I − draw)).
    const a0 = alpha[c] - drawA * (matrix[m] + matrix[m + 1] + matrix[m + 2]);
    const a1 = alpha[c + 1] - drawA * (matrix[m + 3] + matrix[m + 4] + matrix[m + 5]);
    const a2 = alpha[c + 2] - drawA * (matrix[m + 6] + matrix[m + 7] + matrix[m + 8]);
    for (let row = 0; row < 3; row++) {
      const r = 3 * row;
      alpha[c + row] = inverse[r] * a0 + inverse[r + 1] * a1 + inverse[r + 2] * a2;
      for (let column = 0; column < 3; column++)
        system[r + column] =
          inverse[r] * matrix[m + column] +
          inverse[r + 1] * matrix[m + 3 + column] +
          inverse[r + 2] * matrix[m + 6 + column];
    }
    for (let e = 0; e < 9; e++) matrix[m + e] = system[e];
  }

  /** Makes the stack current at nodes 1 to 3 meet a law. @returns false where the equations have no solution. */
  solveCurrent(law: VoltageLaw | SupplyLaw): boolean {
    const { state, system, right } = this;
    for (let a = 0; a < 3; a++) {
      const row = 3 * a;
      const constant = this.sumResponse(law, a);
      if (law.kind === 'voltage') {
        system[row + a] += law.seriesOhm;
        right[a] = law.targetV - constant;
        continue;
      }
      // By Newton's method: f + f_I (I − I*) + f_V S (I − I*) = target, with V = constant + S I.
      const present = state.stackA[a + 1];
      let change = 0;
      for (let l = 0; l < 3; l++) change += system[row + l] * state.stackA[l + 1];
      const value = law.value(present, constant + change);
      const { byA, byV } = lawSlopes(law, present, constant + change);
      for (let l = 0; l < 3; l++) system[row + l] *= byV;
      system[row + a] += byA;
      right[a] = law.target - value + byA * present + byV * change;
    }
    if (!solve3(system, right)) return false;
    for (let a = 0; a < 3; a++) state.stackA[a + 1] = right[a];
    return true;
  }

  /** Weighted sum of the cells' responses at a node into a row of the system. @returns its constant part. */
  private sumResponse(law: VoltageLaw | SupplyLaw, a: number): number {
    const { state, alpha, matrix, system } = this;
    const row = 3 * a;
    let constant = 0;
    system[row] = system[row + 1] = system[row + 2] = 0;
    for (let k = 0; k < state.cells.length; k++) {
      const weight = law.kind === 'supply' ? 1 : law.weights[k];
      if (weight === 0) continue;
      constant += weight * alpha[3 * k + a];
      for (let l = 0; l < 3; l++) system[row + l] += weight * matrix[9 * k + row + l];
    }
    return constant;
  }

  /** Cell current from the response of its voltage. @returns the largest change, in tolerances. */
  currentByMatrix(k: number): number {
    const { state, alpha, matrix } = this;
    const { stackA, nodeCurrentA } = state;
    const { drawA, conductanceS } = state.bypass[k];
    const p = state.parameters[k];
    const at = 4 * k;
    let change = 0;
    for (let a = 1; a < 4; a++) {
      const row = 9 * k + 3 * (a - 1);
      const voltage =
        alpha[3 * k + a - 1] +
        matrix[row] * stackA[1] +
        matrix[row + 1] * stackA[2] +
        matrix[row + 2] * stackA[3];
      const current = stackA[a] - drawA - conductanceS * voltage;
      change = Math.max(change, Math.abs(current - nodeCurrentA[at + a]) * p[a * state.cells[k].stride + R0]);
      nodeCurrentA[at + a] = current;
    }
    return change / this.voltageToleranceV;
  }
}
