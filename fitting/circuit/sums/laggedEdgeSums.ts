import { type ChannelLag, type LaggedEdge, reflectBlock } from '../channel/laggedEdges.ts';
import { channelWeights } from '../channel/throughChannel.ts';
import { type CircuitWindow, currentBefore, currentOfR0 } from '../window/circuitWindow.ts';
import { type IntervalCoefficients, sharedCoefficients } from '../window/intervalCoefficients.ts';
import type { BranchState, GramLayout } from './gramLayout.ts';

/**
 * What a lagging voltage channel changes in the Gram sums: the few rows after each edge are added one by one,
 * reflected, and at the end the columns are turned into those that the channel shows.
 */
export class LaggedEdgeSums {
  private readonly window: CircuitWindow;
  private readonly lag: ChannelLag;
  private readonly layout: GramLayout;
  private readonly chargeAs: Float64Array;
  private readonly currentA: Float64Array;
  private readonly coefficients: IntervalCoefficients;
  private readonly columns: readonly Float64Array[];

  /** @param chargeAs charge at the rows of the window; may be empty where the layout has no slope */
  constructor(window: CircuitWindow, lag: ChannelLag, layout: GramLayout, chargeAs: Float64Array) {
    this.window = window;
    this.lag = lag;
    this.layout = layout;
    this.chargeAs = chargeAs;
    this.currentA = currentOfR0(window);
    this.coefficients = sharedCoefficients(window, lag.edges);
    const most = lag.edges.reduce((rows, edge) => Math.max(rows, edge.end - edge.start), 0);
    this.columns = Array.from({ length: layout.side }, () => new Float64Array(most));
  }

  /** Adds the rows of the edge that begins at a row, if one does; the branches stand at the row before. */
  addAt(row: number, branch: Readonly<BranchState>, gram: Float64Array): void {
    const edge = this.lag.edges.find((one) => one.start === row);
    if (edge === undefined) return;
    const { side } = this.layout;
    const { columns } = this;
    this.fill(edge, branch);
    const rows = edge.end - edge.start;
    for (const column of columns) reflectBlock(edge, column, 0);
    for (let a = 0; a < side; a++) {
      for (let b = a; b < side; b++) {
        let sum = 0;
        for (let k = 1; k < rows; k++) sum += columns[a][k] * columns[b][k];
        gram[a * side + b] += sum;
      }
    }
  }

  /** The columns of a block, as the circuit has them. */
  private fill(edge: LaggedEdge, branch: Readonly<BranchState>): void {
    const { window, columns, currentA, chargeAs } = this;
    const { branches, firstBranch, side, withSlope } = this.layout;
    for (let row = edge.start, k = 0; row < edge.end; row++, k++) {
      columns[0][k] = 1;
      columns[1][k] = currentA[row];
      if (withSlope) columns[2][k] = chargeAs[row];
      columns[side - 1][k] = window.voltageV[row];
    }
    const { indexOf, keep, here, before, fade, hereSlope, beforeSlope } = this.coefficients;
    for (let i = 0; i < branches; i++) {
      this.coefficients.prepare(branch.tauS[i]);
      let u = branch.u[i];
      let d = branch.d[i];
      for (let row = edge.start, k = 0; row < edge.end; row++, k++) {
        const e = indexOf[row];
        const now = branch.driven[i] * window.currentA[row];
        const then = branch.driven[i] * currentBefore(window, row);
        d = keep[e] * d + fade[e] * u + hereSlope[e] * now + beforeSlope[e] * then;
        u = keep[e] * u + here[e] * now + before[e] * then;
        columns[firstBranch + i][k] = u;
        columns[firstBranch + branches + i][k] = d;
      }
    }
  }

  /** Turns the sums over the circuit's columns into those over what the channel shows of them. */
  throughChannel({ tauS, driven }: BranchState, gram: Float64Array): void {
    const { branches, firstBranch, side, withSlope } = this.layout;
    const { lagS } = this.lag;
    for (let a = 0; a < side; a++) for (let b = 0; b < a; b++) gram[a * side + b] = gram[b * side + a];
    for (let i = 0; i < branches; i++) {
      const { own, current, slope } = channelWeights(tauS[i], lagS);
      const u = firstBranch + i;
      // What only decays goes through the channel without the current's part.
      combine(gram, side, u + branches, own, u, -slope, driven[i] * slope);
      combine(gram, side, u, own, u, 0, -driven[i] * current);
    }
    if (withSlope) combine(gram, side, 2, 1, 2, 0, -lagS);
  }
}

/** Column `target` becomes own·target + share·other + ofCurrent·(column 1), in a full symmetric matrix. */
function combine(
  gram: Float64Array,
  side: number,
  target: number,
  own: number,
  other: number,
  share: number,
  ofCurrent: number,
): void {
  for (let row = 0; row < side; row++) {
    const at = row * side;
    gram[at + target] = own * gram[at + target] + share * gram[at + other] + ofCurrent * gram[at + 1];
  }
  for (let column = 0; column < side; column++) {
    const at = target * side + column;
    gram[at] = own * gram[at] + share * gram[other * side + column] + ofCurrent * gram[side + column];
  }
}
