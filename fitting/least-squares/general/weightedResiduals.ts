import type { CheckedProblem } from './checkProblem.ts';

/** Cube and fifth root of the rounding unit: step sizes that balance truncation and rounding. */
const CENTRAL_STEP = 6.055454452393343e-6;
const FOURTH_ORDER_STEP = 7.400959797414051e-4;

/** How a Jacobian without analytic derivatives is formed. */
export type DifferenceKind = 'central' | 'fourth-order';

/**
 * Weighted residuals r = √w (y − f) and the weighted Jacobian √w ∂f of the free parameters, with counting.
 * Work arrays are allocated once.
 */
export class WeightedResiduals {
  readonly problem: CheckedProblem;
  /** √wᵢ; replaced by a robust loss. */
  readonly root: Float64Array;
  evaluations = 0;
  private readonly full: Float64Array;
  private readonly model: Float64Array;
  private readonly above: Float64Array;
  private readonly below: Float64Array;
  private readonly further: Float64Array;
  private readonly all: Float64Array[];

  constructor(problem: CheckedProblem) {
    const points = problem.y.length;
    this.problem = problem;
    this.root = problem.weights.map(Math.sqrt);
    this.full = problem.start.slice();
    this.model = new Float64Array(points);
    this.above = new Float64Array(points);
    this.below = new Float64Array(points);
    this.further = new Float64Array(points);
    this.all = problem.model.jacobian ? problem.names.map(() => new Float64Array(points)) : [];
  }

  /** All parameters, with the free ones taken from `free`. */
  expand(free: ArrayLike<number>): Float64Array {
    this.problem.freeIndex.forEach((index, f) => {
      this.full[index] = free[f];
    });
    return this.full;
  }

  /** Fills `residual`; returns S, or Infinity where the model is not finite. */
  evaluate(free: Float64Array, residual: Float64Array): number {
    const { y } = this.problem;
    this.evaluateModel(free, this.model);
    let cost = 0;
    for (let i = 0; i < y.length; i++) {
      const rest = this.root[i] === 0 ? 0 : this.root[i] * (y[i] - this.model[i]);
      residual[i] = rest;
      cost += rest * rest;
    }
    return Number.isFinite(cost) ? cost : Infinity;
  }

  private evaluateModel(free: Float64Array, out: Float64Array): void {
    this.evaluations++;
    this.problem.model.evaluate(this.expand(free), out);
  }

  /**
   * Fills `columns[f]` = √w ∂f/∂(free parameter f). Without an analytic Jacobian by differences, second order
   * (2 evaluations a parameter) or fourth (4, the last digits of a finish); one-sided of second order where a
   * bound is in the way. Returns false where an entry is not finite.
   */
  jacobian(free: Float64Array, columns: readonly Float64Array[], kind: DifferenceKind): boolean {
    const { problem, root } = this;
    if (problem.model.jacobian) {
      problem.model.jacobian(this.expand(free), this.all);
      problem.freeIndex.forEach((index, f) => {
        columns[f].set(this.all[index]);
      });
    } else {
      const moved = free.slice();
      for (let f = 0; f < free.length; f++) this.difference(free, moved, f, columns[f], kind);
    }
    let finite = true;
    for (const column of columns) {
      for (let i = 0; i < column.length; i++) {
        column[i] = root[i] === 0 ? 0 : column[i] * root[i];
        if (!Number.isFinite(column[i])) finite = false;
      }
    }
    return finite;
  }

  private difference(
    free: Float64Array,
    moved: Float64Array,
    f: number,
    out: Float64Array,
    kind: DifferenceKind,
  ): void {
    const index = this.problem.freeIndex[f];
    const [low, high] = [this.problem.min[index], this.problem.max[index]];
    const at = free[f];
    const size = Math.abs(at) || Math.abs(this.problem.start[index]) || 1;
    let h = at + size * (kind === 'central' ? CENTRAL_STEP : FOURTH_ORDER_STEP) - at;
    if (high - low < 8 * h) h = (high - low) / 8;
    const value = (offset: number, into: Float64Array): void => {
      moved[f] = at + offset;
      this.evaluateModel(moved, into);
    };
    const { above, below, further } = this;
    if (at + h > high || at - h < low) {
      const side = at + h > high ? -h : h;
      value(0, below);
      value(side, above);
      value(2 * side, further);
      for (let i = 0; i < out.length; i++) out[i] = (4 * above[i] - 3 * below[i] - further[i]) / (2 * side);
    } else {
      value(h, above);
      value(-h, below);
      for (let i = 0; i < out.length; i++) out[i] = (above[i] - below[i]) / (2 * h);
      if (kind === 'fourth-order') {
        value(h / 2, above);
        value(-h / 2, below);
        for (let i = 0; i < out.length; i++) out[i] = ((4 * (above[i] - below[i])) / h - out[i]) / 3;
      }
    }
    moved[f] = at;
  }
}
