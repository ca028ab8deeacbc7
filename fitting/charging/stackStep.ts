import { OCV, R0, SLOPE } from './cellModel.ts';
import type { ControlLaw } from './controlLaw.ts';
import { efficiencyAt, efficiencySlopeAt } from './efficiency.ts';
import {
  cubicSlopeAt,
  exponentialWeights,
  INTEGRAL,
  leftOut,
  NODES,
  WEIGHTS_LENGTH,
} from './exponentialWeights.ts';
import { solve3 } from './solve3.ts';
import type { StackState } from './stackState.ts';

export interface StepTolerance {
  /** Bound on the estimated local error of each cell voltage in one step, V. */
  readonly voltageV: number;
  /** The same for each cell temperature, K. */
  readonly temperatureK: number;
}

const MAX_ITERATIONS = 15;
/** The iteration ends when the next correction is expected below this part of the tolerance. */
const ITERATION_PART = 0.003;

/**
 * One step of a stack's equations. At the four nodes of the step current, voltages and heat are the unknowns of a
 * collocation; RC branches and heat flow are integrated exactly under the cubic through them (exponentialWeights.ts), and
 * the current under a voltage law solves the small linear system that this makes of the law. What is not linear (R0, R_j,
 * tau_j and OCV along the step) is put right by repetition, which contracts by the share of a parameter's change in
 * one step, a hundredth as a rule.
 */
export class StackStep {
  private readonly state: StackState;
  private readonly tolerance: StepTolerance;
  /** Slots of a cell: its heat balance first, then its branches. */
  private readonly slots: number;
  private readonly weights: Float64Array;
  private readonly weightsX: Float64Array;
  private readonly fixedBranchV: Float64Array;
  private readonly alpha: Float64Array;
  private readonly matrix: Float64Array;
  private readonly system = new Float64Array(9);
  private readonly right = new Float64Array(3);
  /** Of the stack current, then of current and heat of each cell. */
  private readonly slopes: Float64Array;
  private readonly inverseColumn = new Float64Array(3);
  private readonly inverse = new Float64Array(9);

  constructor(state: StackState, tolerance: StepTolerance) {
    const n = state.cells.length;
    this.state = state;
    this.tolerance = tolerance;
    this.slots = state.branches + 1;
    this.weights = new Float64Array(n * this.slots * WEIGHTS_LENGTH);
    this.weightsX = new Float64Array(n * this.slots).fill(-1);
    this.fixedBranchV = new Float64Array(3 * n * state.branches);
    this.slopes = new Float64Array(1 + 2 * n);
    this.alpha = new Float64Array(3 * n);
    this.matrix = new Float64Array(9 * n);
  }

  /**
   * Tries a step of `h` seconds from the state whose node 0 is filled, and fills nodes 1 to 3.
   * @returns the estimated local error over the tolerance: up to 1 is good, Infinity where the equations had no solution.
   */
  attempt(h: number, law: ControlLaw, previousS: number): number {
    const { state } = this;
    const n = state.cells.length;
    this.prepareWeights(h);
    this.guess(h, law, previousS);
    let before = 0;
    for (let iteration = 0; iteration < MAX_ITERATIONS; iteration++) {
      for (let k = 0; k < n; k++) if (this.byMatrix(k, law)) this.respond(k, h, iteration);
      if (law.kind !== 'current' && !this.solveCurrent(law)) return Number.POSITIVE_INFINITY;
      let change = 0;
      for (let k = 0; k < n; k++) {
        const amperes = this.byMatrix(k, law)
          ? this.currentByMatrix(k)
          : this.currentOfStack(k, h, iteration);
        this.applyCurrent(k, h);
        change = Math.max(change, amperes, this.applyHeat(k, h));
      }
      if (!Number.isFinite(change)) return Number.POSITIVE_INFINITY;
      // The next correction would be about change × (change / before).
      const next = change * (change < 0.3 * before ? change / before : 0.3);
      if (next <= ITERATION_PART) {
        this.sumVoltages();
        return this.localError(h);
      }
      before = change;
    }
    return Number.POSITIVE_INFINITY;
  }

  private prepareWeights(h: number): void {
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
    if (this.weightsX[slot] === x) return;
    this.weightsX[slot] = x;
    exponentialWeights(x, this.weights, slot * WEIGHTS_LENGTH);
  }

  /** True where the cell's voltage enters the law or its own current, so that its response is needed as a matrix. */
  private byMatrix(k: number, law: ControlLaw): boolean {
    return (law.kind !== 'current' && law.weights[k] !== 0) || this.state.bypass[k].conductanceS !== 0;
  }

  /** First guess of the nodes: current and heat go on along their last slope, or stay where nothing went before. */
  private guess(h: number, law: ControlLaw, previousS: number): void {
    const { state } = this;
    const ratio = previousS > 0 && h <= 6 * previousS ? h / previousS : 0;
    const stackSlope = law.kind === 'current' ? 0 : ratio * this.slopes[0];
    for (let a = 1; a < 4; a++) state.stackA[a] = state.stackA[0] + NODES[a] * stackSlope;
    for (let k = 0; k < state.cells.length; k++) {
      const at = 4 * k;
      const cell = state.cells[k];
      const i0 = state.nodeCurrentA[at];
      const slope = ratio * this.slopes[1 + 2 * k];
      const heatSlope = ratio * this.slopes[2 + 2 * k];
      for (let a = 1; a < 4; a++) {
        const c = NODES[a];
        state.nodeCurrentA[at + a] = i0 + c * slope;
        state.nodeSoc[at + a] = state.soc[k] + h * c * cell.socPerAs * (i0 + 0.5 * c * slope);
        state.nodeHeatW[at + a] = state.nodeHeatW[at] + c * heatSlope;
        state.nodeTemperatureC[at + a] = state.temperatureC[k];
        for (let j = 0; j < cell.branchCount; j++)
          state.nodeBranchV[4 * (k * state.branches + j) + a] = state.branchV[k * state.branches + j];
      }
      this.applyHeatFlow(k, h);
    }
  }

  /** Keeps the slopes at the end of the tried step, per step, for the guess of the next; call when it is accepted. */
  keepSlopes(): void {
    const { state, slopes } = this;
    slopes[0] = cubicSlopeAt(state.stackA, 0, 1);
    for (let k = 0; k < state.cells.length; k++) {
      slopes[1 + 2 * k] = cubicSlopeAt(state.nodeCurrentA, 4 * k, 1);
      slopes[2 + 2 * k] = cubicSlopeAt(state.nodeHeatW, 4 * k, 1);
    }
  }

  private readNodes(k: number, iteration: number): void {
    const { state } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const known = iteration > 0 && cell.constantParameters;
    for (let a = 1; a < 4; a++) {
      const at = 4 * k + a;
      if (known)
        cell.ocv.evaluate(
          state.nodeSoc[at],
          state.nodeTemperatureC[at],
          state.socStretch[k],
          state.temperatureStretch[k],
          p,
          a * cell.stride,
        );
      else
        cell.evaluate(
          state.nodeSoc[at],
          state.nodeTemperatureC[at],
          state.socStretch[k],
          state.temperatureStretch[k],
          p,
          a * cell.stride,
        );
    }
  }

  /** Branch voltages at the nodes apart from what the currents at nodes 1 to 3 add. */
  private fixBranches(k: number, h: number): void {
    const { state, weights, fixedBranchV } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const i0 = state.nodeCurrentA[4 * k];
    for (let j = 0; j < cell.branchCount; j++) {
      const branch = k * state.branches + j;
      const w = (k * this.slots + 1 + j) * WEIGHTS_LENGTH;
      const first = state.branchAt(k, 0, j);
      const rate = p[first + 1];
      const g0 = p[first] * rate * i0;
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

  /** V at nodes 1 to 3 as alpha + matrix × (stack current at nodes 1 to 3). */
  private respond(k: number, h: number, iteration: number): void {
    this.readNodes(k, iteration);
    this.fixBranches(k, h);
    const { state, weights, alpha, matrix } = this;
    const cell = state.cells[k];
    const p = state.parameters[k];
    const charge = h * cell.socPerAs;
    const i0 = state.nodeCurrentA[4 * k];
    for (let a = 1; a < 4; a++) {
      const q = a * cell.stride;
      const row = 9 * k + 3 * (a - 1);
      const slope = p[q + SLOPE];
      let constant =
        p[q + OCV] + slope * (state.soc[k] + charge * INTEGRAL[4 * (a - 1)] * i0 - state.nodeSoc[4 * k + a]);
      for (let l = 1; l < 4; l++) matrix[row + l - 1] = slope * charge * INTEGRAL[4 * (a - 1) + l];
      matrix[row + a - 1] += p[q + R0];
      for (let j = 0; j < cell.branchCount; j++) {
        const w = (k * this.slots + 1 + j) * WEIGHTS_LENGTH + 4 * (a - 1);
        constant += this.fixedBranchV[3 * (k * state.branches + j) + a - 1];
        for (let l = 1; l < 4; l++) {
          const b = state.branchAt(k, l, j);
          matrix[row + l - 1] += h * weights[w + l] * p[b] * p[b + 1];
        }
      }
      alpha[3 * k + a - 1] = constant;
    }
    const { drawA, conductanceS } = state.bypass[k];
    if (drawA !== 0 || conductanceS !== 0) this.throughBypass(k, drawA, conductanceS);
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

  private solveCurrent(law: Exclude<ControlLaw, { kind: 'current' }>): boolean {
    const { state, alpha, matrix, system, right } = this;
    const n = state.cells.length;
    for (let a = 0; a < 3; a++) {
      const present = state.stackA[a + 1];
      const factor = law.efficiency === null ? 1 : 1 / efficiencyAt(law.efficiency, present);
      let constant = 0;
      const row = 3 * a;
      system[row] = system[row + 1] = system[row + 2] = 0;
      for (let k = 0; k < n; k++) {
        const weight = law.weights[k];
        if (weight === 0) continue;
        const scale = factor * weight;
        constant += scale * alpha[3 * k + a];
        for (let l = 0; l < 3; l++) system[row + l] += scale * matrix[9 * k + row + l];
      }
      let voltage = constant;
      for (let l = 0; l < 3; l++) voltage += system[row + l] * state.stackA[l + 1];
      // Change of the voltage by the change of the efficiency alone, per ampere.
      const drift =
        law.efficiency === null ? 0 : -voltage * factor * efficiencySlopeAt(law.efficiency, present);
      if (law.kind === 'voltage') {
        system[row + a] += law.seriesOhm + drift;
        right[a] = law.targetV - constant + drift * present;
        continue;
      }
      // I (c + S I) + ρ I² = P by Newton's method: with U = c + S I* the row is (I* S + (U + 2 ρ I*) 1) I = P + I* U − I* c + ρ I*².
      for (let l = 0; l < 3; l++) system[row + l] *= present;
      system[row + a] += voltage + (2 * law.squareOhm + drift) * present;
      right[a] = law.powerW + present * (voltage - constant) + (law.squareOhm + drift) * present * present;
    }
    if (!solve3(system, right)) return false;
    for (let a = 0; a < 3; a++) state.stackA[a + 1] = right[a];
    return true;
  }

  /** Cell current from the response of its voltage. @returns the largest change, in tolerances. */
  private currentByMatrix(k: number): number {
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
    return change / this.tolerance.voltageV;
  }

  /** Cell current where it is the stack current less a constant draw. @returns the largest change, in tolerances. */
  private currentOfStack(k: number, h: number, iteration: number): number {
    const { state } = this;
    const at = 4 * k;
    let change = 0;
    for (let a = 1; a < 4; a++) {
      const current = state.stackA[a] - state.bypass[k].drawA;
      change = Math.max(change, Math.abs(current - state.nodeCurrentA[at + a]));
      state.nodeCurrentA[at + a] = current;
    }
    this.applySoc(k, h);
    this.readNodes(k, iteration);
    this.fixBranches(k, h);
    return (change * state.parameters[k][R0]) / this.tolerance.voltageV;
  }

  private applySoc(k: number, h: number): void {
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
  private applyCurrent(k: number, h: number): void {
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
      let voltage = state.nodeOcvV[at + a] + p[q + R0] * state.nodeCurrentA[at + a];
      for (let j = 0; j < cell.branchCount; j++) voltage += this.applyBranch(k, a, j, h);
      state.nodeVoltageV[at + a] = voltage;
    }
  }

  private applyBranch(k: number, a: number, j: number, h: number): number {
    const { state, weights } = this;
    const p = state.parameters[k];
    const branch = k * state.branches + j;
    const w = (k * this.slots + 1 + j) * WEIGHTS_LENGTH + 4 * (a - 1);
    let sum = 0;
    for (let l = 1; l < 4; l++) {
      const b = state.branchAt(k, l, j);
      sum += weights[w + l] * p[b] * p[b + 1] * state.nodeCurrentA[4 * k + l];
    }
    const voltage = this.fixedBranchV[3 * branch + a - 1] + h * sum;
    state.nodeBranchV[4 * branch + a] = voltage;
    return voltage;
  }

  /** Heat and temperature at the nodes. @returns the largest change of temperature, in tolerances. */
  private applyHeat(k: number, h: number): number {
    const { state } = this;
    for (let a = 1; a < 4; a++) state.heatAtNode(k, a);
    return this.applyHeatFlow(k, h) / this.tolerance.temperatureK;
  }

  private applyHeatFlow(k: number, h: number): number {
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

  private sumVoltages(): void {
    const { state } = this;
    for (let a = 1; a < 4; a++) {
      let sum = 0;
      for (let k = 0; k < state.cells.length; k++) sum += state.nodeVoltageV[4 * k + a];
      state.stackV[a] = sum;
    }
  }

  /** What the cubics leave out: of R0 i and of each branch's drive, in volts; of the heat's effect, in kelvin. */
  private localError(h: number): number {
    const { state } = this;
    let volts = 0;
    let kelvin = 0;
    for (let k = 0; k < state.cells.length; k++) {
      const cell = state.cells[k];
      const p = state.parameters[k];
      const i = state.nodeCurrentA;
      const at = 4 * k;
      volts = Math.max(volts, p[R0] * leftOut(i[at], i[at + 1], i[at + 2], i[at + 3]));
      for (let j = 0; j < cell.branchCount; j++) volts = Math.max(volts, this.driveLeftOut(k, j));
      const thermal = cell.model.thermal;
      if (thermal === null) continue;
      const q = state.nodeHeatW;
      const t = state.nodeTemperatureC;
      const c = (h / thermal.heatCapacityJPerK) * leftOut(q[at], q[at + 1], q[at + 2], q[at + 3]);
      // The temperature itself is exact where the heat is; a tenth of what a cubic misses of it keeps its integral good.
      const d = 0.1 * leftOut(t[at], t[at + 1], t[at + 2], t[at + 3]);
      kelvin = Math.max(kelvin, c, d);
    }
    return Math.max(volts / this.tolerance.voltageV, kelvin / this.tolerance.temperatureK);
  }

  private driveLeftOut(k: number, j: number): number {
    const { state } = this;
    const p = state.parameters[k];
    const v = state.nodeBranchV;
    const i = state.nodeCurrentA;
    const branch = 4 * (k * state.branches + j);
    const rate = p[state.branchAt(k, 0, j) + 1];
    const drive = (a: number) => {
      const b = state.branchAt(k, a, j);
      const relative = p[b + 1] / rate;
      return p[b] * relative * i[4 * k + a] + (1 - relative) * v[branch + a];
    };
    return leftOut(drive(0), drive(1), drive(2), drive(3));
  }
}
