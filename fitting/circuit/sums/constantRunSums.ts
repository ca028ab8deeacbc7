import type { CircuitWindow, IntervalRun } from '../window/circuitWindow.ts';
import type { BranchState, GramLayout } from './gramLayout.ts';
import { OWN_MOMENTS, RunMoments } from './runMoments.ts';

/**
 * Gram sums over runs of constant current.
 *
 * With current c, the branch current over the time t since the run began is u = c + a·p with p = exp(−t/τ)
 * and a = u(0) − c, and ∂u/∂ln τ = (b + g·t)·p with b = ∂u(0)/∂ln τ, g = a/τ. So all sums follow from the
 * moments Σp, Σtp, Σt²p, Σpᵢpⱼ, Σtpᵢpⱼ, Σt²pᵢpⱼ and from Σyp, Σytp over the data (`RunMoments`).
 */
export class ConstantRunSums {
  private readonly window: CircuitWindow;
  private readonly layout: GramLayout;
  /** Which time constant each state has. */
  private readonly tauOf: readonly number[];
  private readonly moments: RunMoments;
  /** Per state: current that it tends to, a, b, g. */
  private readonly goalA: Float64Array;
  private readonly a: Float64Array;
  private readonly b: Float64Array;
  private readonly g: Float64Array;
  private readonly timeSums = new Map<IntervalRun, number>();
  private readonly chargeAs: Float64Array;

  /**
   * @param tauOf which time constant each state has; the first states have one each, in order
   * @param chargeAs charge at the rows of the window; may be empty where the layout has no slope
   */
  constructor(window: CircuitWindow, layout: GramLayout, tauOf: readonly number[], chargeAs: Float64Array) {
    const { branches, withSlope } = layout;
    this.chargeAs = chargeAs;
    this.window = window;
    this.layout = layout;
    this.tauOf = tauOf;
    const taus = Math.max(0, ...tauOf.map((tau) => tau + 1));
    this.moments = new RunMoments(window, taus, withSlope, branches - taus);
    this.goalA = new Float64Array(branches);
    this.a = new Float64Array(branches);
    this.b = new Float64Array(branches);
    this.g = new Float64Array(branches);
  }

  /**
   * Adds the products of the run's rows to `gram` (where they count) and moves the branches to its end.
   *
   * @param tauS the time constants, each once
   */
  add(run: IntervalRun, tauS: Float64Array, branch: BranchState, gram: Float64Array): void {
    const { branches } = this.layout;
    const { u, d } = branch;
    const origin = run.start - 1;
    const lengthS = this.window.timeS[run.end - 1] - this.window.timeS[origin];
    for (let i = 0; i < branches; i++) {
      const goalA = branch.driven[i] * run.currentA;
      const a = u[i] - goalA;
      const g = a / branch.tauS[i];
      const end = Math.exp(-lengthS / branch.tauS[i]);
      this.goalA[i] = goalA;
      this.a[i] = a;
      this.b[i] = d[i];
      this.g[i] = g;
      u[i] = goalA + a * end;
      d[i] = (this.b[i] + g * lengthS) * end;
    }
    if (!run.scored) return;
    this.moments.of(run, tauS);
    for (let i = 0; i < branches; i++) this.addOwn(run, i, gram);
    for (let i = 0; i < branches; i++) for (let j = i; j < branches; j++) this.addPair(run, i, j, gram);
  }

  /** Products of state i with the fixed columns. */
  private addOwn(run: IntervalRun, i: number, gram: Float64Array): void {
    const { own } = this.moments;
    const { side, branches, firstBranch } = this.layout;
    const at = OWN_MOMENTS * this.tauOf[i];
    const a = this.a[i];
    const b = this.b[i];
    const g = this.g[i];
    const c = run.currentA;
    const goal = this.goalA[i];
    const sumU = goal * (run.end - run.start) + a * own[at];
    const sumD = b * own[at] + g * own[at + 1];
    const column = firstBranch + i;
    const slope = firstBranch + branches + i;
    gram[column] += sumU;
    gram[slope] += sumD;
    gram[side + column] += c * sumU;
    gram[side + slope] += c * sumD;
    if (firstBranch === 3) {
      const q0 = this.chargeAs[run.start - 1];
      const rate = c + this.window.chargeBaseA;
      const sumTimeU = goal * this.timeSum(run) + a * own[at + 1];
      gram[2 * side + column] += q0 * sumU + rate * sumTimeU;
      gram[2 * side + slope] += q0 * sumD + rate * (b * own[at + 1] + g * own[at + 4]);
    }
    const sumY = run.voltageSum;
    gram[column * side + side - 1] += goal * sumY + a * own[at + 2];
    gram[slope * side + side - 1] += b * own[at + 2] + g * own[at + 3];
  }

  private addPair(run: IntervalRun, i: number, j: number, gram: Float64Array): void {
    const { tauOf, moments } = this;
    const { own, pair } = moments;
    const { side, branches, firstBranch } = this.layout;
    const tauI = tauOf[i];
    const tauJ = tauOf[j];
    const twins = i !== j && tauI === tauJ;
    const products = twins ? moments.shared : pair;
    const at = 3 * (twins ? tauI : moments.indexOf(tauI, tauJ));
    const m0 = products[at];
    const m1 = products[at + 1];
    const m2 = products[at + 2];
    const ci = this.goalA[i];
    const cj = this.goalA[j];
    const ai = this.a[i];
    const bi = this.b[i];
    const gi = this.g[i];
    const aj = this.a[j];
    const bj = this.b[j];
    const gj = this.g[j];
    const pi = own[OWN_MOMENTS * tauI];
    const pj = own[OWN_MOMENTS * tauJ];
    const m = run.end - run.start;
    const ui = firstBranch + i;
    const uj = firstBranch + j;
    const di = ui + branches;
    const dj = uj + branches;
    gram[ui * side + uj] += ci * cj * m + cj * ai * pi + ci * aj * pj + ai * aj * m0;
    gram[ui * side + dj] += ci * (bj * pj + gj * own[OWN_MOMENTS * tauJ + 1]) + ai * (bj * m0 + gj * m1);
    if (i !== j) {
      gram[uj * side + di] += cj * (bi * pi + gi * own[OWN_MOMENTS * tauI + 1]) + aj * (bi * m0 + gi * m1);
    }
    gram[di * side + dj] += bi * bj * m0 + (bi * gj + bj * gi) * m1 + gi * gj * m2;
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
