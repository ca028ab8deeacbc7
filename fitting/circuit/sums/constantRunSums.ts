import { decay } from '../response/decay.ts';
import type { CircuitWindow, IntervalRun } from '../window/circuitWindow.ts';
import { decayMoments } from './decayMoments.ts';
import type { BranchState, GramLayout } from './gramLayout.ts';
import { weightedDecaySums } from './weightedDecaySums.ts';

/**
 * Gram sums over runs of constant current.
 *
 * With current c, the branch current over the time t since the run began is u = c + a·p with p = exp(−t/τ)
 * and a = u(0) − c, and ∂u/∂ln τ = (b + g·t)·p with b = ∂u(0)/∂ln τ, g = a/τ. So all sums follow from the
 * moments Σp, Σtp, Σt²p, Σpᵢpⱼ, Σtpᵢpⱼ, Σt²pᵢpⱼ (geometric on equal intervals: `decayMoments`) and from Σyp,
 * Σytp over the data.
 */
export class ConstantRunSums {
  private readonly window: CircuitWindow;
  private readonly layout: GramLayout;
  private tauS: Float64Array;
  private readonly columns: readonly Float64Array[];
  private readonly moments = new Float64Array(3);
  private readonly dataMoments = new Float64Array(2);
  /** Per branch: Σp², Σtp², Σt²p² of a run of unequal intervals. */
  private readonly own: Float64Array;
  /** Per branch: a, b, g, Σp, Σtp, Σt²p, Σyp, Σytp. */
  private readonly run: Float64Array;
  private readonly timeSums = new Map<IntervalRun, number>();
  /** Current that each state tends to. */
  private readonly goalA: Float64Array;

  private readonly chargeAs: Float64Array;

  /** @param chargeAs charge at the rows of the window; may be empty where the layout has no slope */
  constructor(window: CircuitWindow, layout: GramLayout, chargeAs: Float64Array) {
    this.chargeAs = chargeAs;
    this.window = window;
    this.layout = layout;
    this.tauS = new Float64Array(layout.branches);
    this.run = new Float64Array(8 * layout.branches);
    this.goalA = new Float64Array(layout.branches);
    this.own = new Float64Array(3 * layout.branches);
    const rows = window.runs.some((run) => run.kind === 'constant') ? window.timeS.length : 0;
    this.columns = Array.from({ length: layout.branches }, () => new Float64Array(rows));
  }

  /** Adds the products of the run's rows to `gram` (where they count) and moves the branches to its end. */
  add(run: IntervalRun, branch: BranchState, gram: Float64Array): void {
    const { branches } = this.layout;
    const { tauS, u, d } = branch;
    this.tauS = tauS;
    const state = this.run;
    const origin = run.start - 1;
    const lengthS = this.window.timeS[run.end - 1] - this.window.timeS[origin];
    for (let i = 0; i < branches; i++) {
      const at = 8 * i;
      const goalA = branch.driven[i] * run.currentA;
      this.goalA[i] = goalA;
      state[at] = u[i] - goalA;
      state[at + 1] = d[i];
      state[at + 2] = state[at] / tauS[i];
      const end = Math.exp(-lengthS / tauS[i]);
      u[i] = goalA + state[at] * end;
      d[i] = (state[at + 1] + state[at + 2] * lengthS) * end;
    }
    if (!run.scored) return;
    for (let i = 0; i < branches; i++) {
      if (run.kind === 'uniform') this.uniformMoments(run, i);
      else this.constantMoments(run, i);
      this.addOwn(run, i, gram);
    }
    for (let i = 0; i < branches; i++) for (let j = i; j < branches; j++) this.addPair(run, i, j, gram);
  }

  /** Σp, Σtp, Σt²p in closed form and Σyp, Σytp over the data, on equal intervals. */
  private uniformMoments(run: IntervalRun, i: number): void {
    const { moments, dataMoments, run: state } = this;
    const h = run.intervalS;
    const ratio = Math.exp(-h / this.tauS[i]);
    decayMoments(ratio, run.end - run.start, moments, 0);
    weightedDecaySums(this.window.voltageV, run.start, run.end, ratio, dataMoments);
    const at = 8 * i;
    state[at + 3] = moments[0];
    state[at + 4] = h * moments[1];
    state[at + 5] = h * h * moments[2];
    state[at + 6] = dataMoments[0];
    state[at + 7] = h * dataMoments[1];
  }

  /**
   * The same sums at any times, and those of a branch with itself; keeps p for the products of two branches.
   */
  private constantMoments(run: IntervalRun, i: number): void {
    const { timeS, voltageV } = this.window;
    const { own } = this;
    const p = this.columns[i];
    const rate = 1 / this.tauS[i];
    const origin = timeS[run.start - 1];
    let [s0, s1, y0, y1, m0, m1, m2] = [0, 0, 0, 0, 0, 0, 0];
    // Two loops: alone, the first keeps all its constants in registers.
    for (let k = run.start; k < run.end; k++) p[k] = decay(rate * (timeS[k] - origin));
    for (let k = run.start; k < run.end; k++) {
      const y = voltageV[k];
      const here = p[k];
      const timed = (timeS[k] - origin) * here;
      s0 += here;
      s1 += timed;
      y0 += y * here;
      y1 += y * timed;
      m0 += here * here;
      m1 += here * timed;
      m2 += timed * timed;
    }
    let s2 = 0;
    if (this.layout.withSlope) {
      for (let k = run.start; k < run.end; k++) s2 += (timeS[k] - origin) ** 2 * p[k];
    }
    const state = this.run;
    const at = 8 * i;
    state[at + 3] = s0;
    state[at + 4] = s1;
    state[at + 5] = s2;
    state[at + 6] = y0;
    state[at + 7] = y1;
    own[3 * i] = m0;
    own[3 * i + 1] = m1;
    own[3 * i + 2] = m2;
  }

  /** Products of branch i with the fixed columns. */
  private addOwn(run: IntervalRun, i: number, gram: Float64Array): void {
    const { run: state } = this;
    const { side, branches, firstBranch } = this.layout;
    const at = 8 * i;
    const a = state[at];
    const b = state[at + 1];
    const g = state[at + 2];
    const c = run.currentA;
    const goal = this.goalA[i];
    const sumU = goal * (run.end - run.start) + a * state[at + 3];
    const sumD = b * state[at + 3] + g * state[at + 4];
    const column = firstBranch + i;
    const slope = firstBranch + branches + i;
    gram[column] += sumU;
    gram[slope] += sumD;
    gram[side + column] += c * sumU;
    gram[side + slope] += c * sumD;
    if (firstBranch === 3) {
      const q0 = this.chargeAs[run.start - 1];
      const rate = c + this.window.chargeBaseA;
      const sumTimeU = goal * this.timeSum(run) + a * state[at + 4];
      gram[2 * side + column] += q0 * sumU + rate * sumTimeU;
      gram[2 * side + slope] += q0 * sumD + rate * (b * state[at + 4] + g * state[at + 5]);
    }
    const sumY = run.voltageSum;
    gram[column * side + side - 1] += goal * sumY + a * state[at + 6];
    gram[slope * side + side - 1] += b * state[at + 6] + g * state[at + 7];
  }

  private addPair(run: IntervalRun, i: number, j: number, gram: Float64Array): void {
    const { run: state, moments } = this;
    const { side, branches, firstBranch } = this.layout;
    this.pairMoments(run, i, j);
    const ci = this.goalA[i];
    const cj = this.goalA[j];
    const m = run.end - run.start;
    const [ai, bi, gi, pi] = [state[8 * i], state[8 * i + 1], state[8 * i + 2], state[8 * i + 3]];
    const [aj, bj, gj, pj] = [state[8 * j], state[8 * j + 1], state[8 * j + 2], state[8 * j + 3]];
    const [m0, m1, m2] = moments;
    const ui = firstBranch + i;
    const uj = firstBranch + j;
    const di = ui + branches;
    const dj = uj + branches;
    gram[ui * side + uj] += ci * cj * m + cj * ai * pi + ci * aj * pj + ai * aj * m0;
    gram[ui * side + dj] += ci * (bj * pj + gj * state[8 * j + 4]) + ai * (bj * m0 + gj * m1);
    if (i !== j) gram[uj * side + di] += cj * (bi * pi + gi * state[8 * i + 4]) + aj * (bi * m0 + gi * m1);
    gram[di * side + dj] += bi * bj * m0 + (bi * gj + bj * gi) * m1 + gi * gj * m2;
  }

  private pairMoments(run: IntervalRun, i: number, j: number): void {
    const { moments, tauS } = this;
    if (run.kind === 'uniform') {
      const h = run.intervalS;
      decayMoments(Math.exp(-h / tauS[i] - h / tauS[j]), run.end - run.start, moments, 0);
      moments[1] *= h;
      moments[2] *= h * h;
      return;
    }
    if (i === j) {
      moments.set(this.own.subarray(3 * i, 3 * i + 3));
      return;
    }
    const { timeS } = this.window;
    const origin = timeS[run.start - 1];
    const first = this.columns[i];
    const second = this.columns[j];
    let s0 = 0;
    let s1 = 0;
    let s2 = 0;
    for (let k = run.start; k < run.end; k++) {
      const t = timeS[k] - origin;
      const product = first[k] * second[k];
      const timed = t * product;
      s0 += product;
      s1 += timed;
      s2 += t * timed;
    }
    moments[0] = s0;
    moments[1] = s1;
    moments[2] = s2;
  }

  /** Σ time since the run began, worked out once for each run. */
  private timeSum(run: IntervalRun): number {
    const known = this.timeSums.get(run);
    if (known !== undefined) return known;
    const { timeS } = this.window;
    let time = 0;
    for (let k = run.start; k < run.end; k++) time += timeS[k] - timeS[run.start - 1];
    this.timeSums.set(run, time);
    return time;
  }
}
