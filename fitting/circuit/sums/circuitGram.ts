import { type CircuitWindow, windowCharge } from '../window/circuitWindow.ts';
import { ConstantRunSums } from './constantRunSums.ts';
import {
  type BranchState,
  type CircuitShape,
  type GramLayout,
  gramLayout,
  tauOfStates,
} from './gramLayout.ts';
import { LaggedEdgeSums } from './laggedEdgeSums.ts';
import { VaryingRunSums } from './varyingRunSums.ts';

/**
 * The Gram sums of the circuit model on one window, in one pass and in the order of `GramLayout`. Work arrays
 * are allocated once.
 */
export class CircuitGram {
  /** Rows that count. */
  readonly points: number;
  private readonly window: CircuitWindow;
  private readonly layout: GramLayout;
  private readonly branch: BranchState;
  private readonly tauOf: readonly number[];
  /** The time constants, each once. */
  private readonly tauS: Float64Array;
  private readonly fixed: Float64Array;
  private readonly constantRuns: ConstantRunSums | null;
  private readonly varyingRuns: VaryingRunSums | null;
  private readonly laggedEdges: LaggedEdgeSums | null;

  constructor(window: CircuitWindow, shape: CircuitShape) {
    const layout = gramLayout(shape);
    const states = layout.branches;
    this.window = window;
    this.layout = layout;
    this.points = window.scoredRows;
    this.tauOf = tauOfStates(shape);
    this.tauS = new Float64Array(Math.max(shape.branches, shape.history));
    this.branch = {
      tauS: new Float64Array(states),
      driven: new Float64Array(states).fill(1, 0, shape.branches),
      u: new Float64Array(states),
      d: new Float64Array(states),
    };
    const chargeAs = shape.withSlope ? windowCharge(window) : new Float64Array(0);
    this.fixed = fixedSums(window, layout, chargeAs);
    const varying = window.runs.some((run) => run.kind === 'varying');
    const constant = window.runs.some((run) => run.kind !== 'varying');
    this.constantRuns = constant ? new ConstantRunSums(window, layout, this.tauOf, chargeAs) : null;
    this.varyingRuns = varying ? new VaryingRunSums(window, layout, chargeAs) : null;
    this.laggedEdges = window.lag === null ? null : new LaggedEdgeSums(window, window.lag, layout, chargeAs);
  }

  /** Fills the upper triangle of `gram` for the logarithms of the time constants. */
  accumulate(logTau: Float64Array, gram: Float64Array): void {
    const { branch, window, laggedEdges, tauS } = this;
    gram.set(this.fixed);
    this.addFirstRow(gram);
    branch.d.fill(0);
    for (let a = 0; a < tauS.length; a++) tauS[a] = Math.exp(logTau[a]);
    for (let i = 0; i < branch.tauS.length; i++) {
      branch.u[i] = 1 - branch.driven[i];
      branch.tauS[i] = tauS[this.tauOf[i]];
    }
    for (const run of window.runs) {
      laggedEdges?.addAt(run.start, branch, gram);
      if (run.kind === 'varying') this.varyingRuns?.add(run, branch, gram);
      else this.constantRuns?.add(run, tauS, branch, gram);
    }
    laggedEdges?.throughChannel(branch, gram);
  }

  /** Row 0 ends no interval: there the branches are at 0, and what the history left is at 1. */
  private addFirstRow(gram: Float64Array): void {
    const { window, branch } = this;
    if (window.scored[0] === 0) return;
    const { side, firstBranch } = this.layout;
    const states = branch.tauS.length;
    for (let i = 0; i < states; i++) {
      if (branch.driven[i] === 1) continue;
      const column = firstBranch + i;
      gram[column] += 1;
      gram[side + column] += window.currentA[0];
      gram[column * side + side - 1] += window.voltageV[0];
      for (let j = i; j < states; j++) gram[column * side + firstBranch + j] += 1;
    }
  }
}

/** Products of the columns that no time constant changes: 1, i, [q], y. */
function fixedSums(window: CircuitWindow, layout: GramLayout, chargeAs: Float64Array): Float64Array {
  const { side, withSlope } = layout;
  const { currentA, voltageV, scored } = window;
  const sums = new Float64Array(side * side);
  const last = side - 1;
  // Row 0 ends no interval, so it is in no run.
  const alone = scored[0];
  let rows = alone;
  let i1 = alone * currentA[0];
  let ii = alone * currentA[0] ** 2;
  let y1 = alone * voltageV[0];
  let iy = alone * currentA[0] * voltageV[0];
  let yy = alone * voltageV[0] ** 2;
  for (const run of window.runs) {
    if (!run.scored) continue;
    rows += run.end - run.start;
    y1 += run.voltageSum;
    yy += run.voltageSquares;
    if (run.kind !== 'varying') {
      i1 += run.currentA * (run.end - run.start);
      ii += run.currentA ** 2 * (run.end - run.start);
      iy += run.currentA * run.voltageSum;
      continue;
    }
    for (let k = run.start; k < run.end; k++) {
      i1 += currentA[k];
      ii += currentA[k] ** 2;
      iy += currentA[k] * voltageV[k];
    }
  }
  sums[0] = rows;
  sums[1] = i1;
  sums[side + 1] = ii;
  sums[last] = y1;
  sums[side + last] = iy;
  sums[last * side + last] = yy;
  if (!withSlope) return sums;
  for (let k = 0; k < currentA.length; k++) {
    if (scored[k] === 0) continue;
    sums[2] += chargeAs[k];
    sums[side + 2] += chargeAs[k] * currentA[k];
    sums[2 * side + 2] += chargeAs[k] * chargeAs[k];
    sums[2 * side + last] += chargeAs[k] * voltageV[k];
  }
  return sums;
}
