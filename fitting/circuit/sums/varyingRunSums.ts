import type { CircuitWindow, IntervalRun } from '../window/circuitWindow.ts';
import { type IntervalCoefficients, sharedCoefficients } from '../window/intervalCoefficients.ts';
import type { BranchState, GramLayout } from './gramLayout.ts';
import { workColumns } from './workColumns.ts';

const varyingRuns = new WeakMap<CircuitWindow, readonly IntervalRun[]>();

function coefficientsOfVarying(window: CircuitWindow): IntervalCoefficients {
  const varying = varyingRuns.get(window) ?? window.runs.filter((run) => run.kind === 'varying');
  varyingRuns.set(window, varying);
  return sharedCoefficients(window, varying);
}

/** Gram sums over runs of varying current: the branch currents by recursion, then their products. */
export class VaryingRunSums {
  private readonly window: CircuitWindow;
  private readonly layout: GramLayout;
  private readonly coefficients: IntervalCoefficients;
  private readonly columns: readonly Float64Array[];
  private readonly slopeColumns: readonly Float64Array[];

  private readonly chargeAs: Float64Array;

  constructor(window: CircuitWindow, layout: GramLayout, chargeAs: Float64Array) {
    this.chargeAs = chargeAs;
    this.window = window;
    this.layout = layout;
    this.coefficients = coefficientsOfVarying(window);
    const rows = window.runs.some((run) => run.kind === 'varying') ? window.timeS.length : 0;
    this.columns = workColumns('varying', layout.branches, rows);
    this.slopeColumns = workColumns('varying-slope', layout.branches, rows);
  }

  /** Adds the products of the run's rows to `gram` (where they count) and moves the branches to its end. */
  add(run: IntervalRun, branch: BranchState, gram: Float64Array): void {
    const { branches } = this.layout;
    for (let i = 0; i < branches; i++) {
      this.recurse(run, branch, i);
      if (run.scored) this.addOwn(run, i, gram);
    }
    if (!run.scored) return;
    for (let i = 0; i < branches; i++) for (let j = i + 1; j < branches; j++) this.addPair(run, i, j, gram);
  }

  /** Branch current and its derivative along a run of varying current, into their columns. */
  private recurse(run: IntervalRun, branch: BranchState, i: number): void {
    const { currentA, sharp } = this.window;
    const { indexOf, keep, here, before, fade, hereSlope, beforeSlope } = this.coefficients;
    this.coefficients.prepare(branch.tauS[i]);
    const column = this.columns[i];
    const slopeColumn = this.slopeColumns[i];
    const drive = branch.driven[i];
    let u = branch.u[i];
    let d = branch.d[i];
    for (let k = run.start; k < run.end; k++) {
      const e = indexOf[k];
      const now = drive * currentA[k];
      const then = sharp[k] === 1 ? now : drive * currentA[k - 1];
      d = keep[e] * d + fade[e] * u + hereSlope[e] * now + beforeSlope[e] * then;
      u = keep[e] * u + here[e] * now + before[e] * then;
      column[k] = u;
      slopeColumn[k] = d;
    }
    branch.u[i] = u;
    branch.d[i] = d;
  }

  private addOwn(run: IntervalRun, i: number, gram: Float64Array): void {
    const { side, branches, firstBranch } = this.layout;
    const { currentA, voltageV } = this.window;
    const { chargeAs } = this;
    const column = this.columns[i];
    const slopeColumn = this.slopeColumns[i];
    let u1 = 0;
    let ui = 0;
    let uy = 0;
    let uu = 0;
    let ud = 0;
    let d1 = 0;
    let di = 0;
    let dy = 0;
    let dd = 0;
    for (let k = run.start; k < run.end; k++) {
      const u = column[k];
      const d = slopeColumn[k];
      const current = currentA[k];
      const y = voltageV[k];
      u1 += u;
      d1 += d;
      ui += u * current;
      di += d * current;
      uy += u * y;
      dy += d * y;
      uu += u * u;
      ud += u * d;
      dd += d * d;
    }
    const at = firstBranch + i;
    const slope = at + branches;
    gram[at] += u1;
    gram[slope] += d1;
    gram[side + at] += ui;
    gram[side + slope] += di;
    gram[at * side + side - 1] += uy;
    gram[slope * side + side - 1] += dy;
    gram[at * side + at] += uu;
    gram[at * side + slope] += ud;
    gram[slope * side + slope] += dd;
    if (firstBranch !== 3) return;
    for (let k = run.start; k < run.end; k++) {
      gram[2 * side + at] += column[k] * chargeAs[k];
      gram[2 * side + slope] += slopeColumn[k] * chargeAs[k];
    }
  }

  private addPair(run: IntervalRun, i: number, j: number, gram: Float64Array): void {
    const { side, branches, firstBranch } = this.layout;
    const [ui, uj, di, dj] = [this.columns[i], this.columns[j], this.slopeColumns[i], this.slopeColumns[j]];
    let uu = 0;
    let ud = 0;
    let du = 0;
    let dd = 0;
    for (let k = run.start; k < run.end; k++) {
      uu += ui[k] * uj[k];
      ud += ui[k] * dj[k];
      du += di[k] * uj[k];
      dd += di[k] * dj[k];
    }
    const a = firstBranch + i;
    const b = firstBranch + j;
    gram[a * side + b] += uu;
    gram[a * side + b + branches] += ud;
    gram[b * side + a + branches] += du;
    gram[(a + branches) * side + b + branches] += dd;
  }
}
