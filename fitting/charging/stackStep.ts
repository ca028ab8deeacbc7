import { R0 } from './cellModel.ts';
import type { ControlLaw } from './controlLaw.ts';
import { cubicSlopeAt, NODES } from './exponentialWeights.ts';
import { localError, type StepTolerance } from './localError.ts';
import { NodeEquations } from './nodeEquations.ts';
import type { StackState } from './stackState.ts';
import { VoltageResponse } from './voltageResponse.ts';

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
  private readonly equations: NodeEquations;
  private readonly response: VoltageResponse;
  /** Slopes at the end of the step before: of the stack current, then of current and heat of each cell. */
  private readonly slopes: Float64Array;

  constructor(state: StackState, tolerance: StepTolerance) {
    this.state = state;
    this.tolerance = tolerance;
    this.equations = new NodeEquations(state, tolerance.temperatureK);
    this.response = new VoltageResponse(state, this.equations, tolerance.voltageV);
    this.slopes = new Float64Array(1 + 2 * state.cells.length);
  }

  /**
   * Tries a step of `h` seconds from the state whose node 0 is filled, and fills nodes 1 to 3.
   * @returns the estimated local error over the tolerance: up to 1 is good, Infinity where the equations had no solution.
   */
  attempt(h: number, law: ControlLaw, previousS: number): number {
    const { state } = this;
    const n = state.cells.length;
    this.equations.prepareWeights(h);
    this.guess(h, law, previousS);
    let before = 0;
    for (let iteration = 0; iteration < MAX_ITERATIONS; iteration++) {
      for (let k = 0; k < n; k++) if (this.byMatrix(k, law)) this.response.respond(k, h, iteration);
      if (law.kind !== 'current' && !this.response.solveCurrent(law)) return Number.POSITIVE_INFINITY;
      let change = 0;
      for (let k = 0; k < n; k++) {
        const amperes = this.byMatrix(k, law)
          ? this.response.currentByMatrix(k)
          : this.currentOfStack(k, h, iteration);
        this.equations.applyCurrent(k, h);
        change = Math.max(change, amperes, this.equations.applyHeat(k, h));
      }
      if (!Number.isFinite(change)) return Number.POSITIVE_INFINITY;
      // The next correction would be about change × (change / before).
      const next = change * (change < 0.3 * before ? change / before : 0.3);
      if (next <= ITERATION_PART) {
        this.sumVoltages();
        return localError(state, this.tolerance, h);
      }
      before = change;
    }
    return Number.POSITIVE_INFINITY;
  }

  /** True where the cell's voltage enters the law or its own current, so that its response is needed as a matrix. */
  private byMatrix(k: number, law: ControlLaw): boolean {
    const inLaw = law.kind === 'supply' || (law.kind === 'voltage' && law.weights[k] !== 0);
    return inLaw || this.state.bypass[k].conductanceS !== 0;
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
      this.equations.applyHeatFlow(k, h);
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
    this.equations.applySoc(k, h);
    this.equations.readNodes(k, iteration, change > 0);
    this.equations.fixBranches(k, h);
    return (change * state.parameters[k][R0]) / this.tolerance.voltageV;
  }

  private sumVoltages(): void {
    const { state } = this;
    for (let a = 1; a < 4; a++) {
      let sum = 0;
      for (let k = 0; k < state.cells.length; k++) sum += state.nodeVoltageV[4 * k + a];
      state.stackV[a] = sum;
    }
  }
}
