import { type CheckedSeparable, checkColumns, checkStarts } from './checkSeparable.ts';
import { dampedStep } from './dampedStep.ts';
import { gramFromColumns } from './gramFromColumns.ts';
import { GramProjection } from './gramProjection.ts';
import type { ColumnModel, GramModel, NonlinearBounds, SeparableModel } from './separable.ts';
import { separableResult } from './separableResult.ts';
import type { FitResult, Termination } from './types.ts';

/** Relative rounding of a sum of squares formed by subtraction from yᵀWy. */
const ROUNDING = 1e-15;
/** Damping grows from this by tens until the cost falls. */
const FIRST_DAMPING = 1e-3;
const STEP_TOLERANCE = 1e-14;

/** State of one solve: kept on the solver so that nothing is allocated while it iterates. */
export class SeparableIteration {
  readonly checked: CheckedSeparable;
  /** At the values accepted last. */
  current: GramProjection;
  private trial: GramProjection;
  readonly nonlinear: Float64Array;
  private readonly trialNonlinear: Float64Array;
  private readonly step: Float64Array;
  private readonly work: Float64Array;
  private readonly movable: Uint8Array;
  min: Float64Array;
  max: Float64Array;
  iterations = 0;
  passes = 0;
  termination: Termination = 'non-finite';
  /** (‖P r‖/‖r‖)² at `nonlinear`. */
  offsetSquared = Number.NaN;
  private model: GramModel;

  constructor(checked: CheckedSeparable) {
    const { linearCount: p, nonlinearCount: q, derivatives, linearMin, linearMax } = checked;
    this.checked = checked;
    this.current = new GramProjection(p, q, derivatives, linearMin, linearMax);
    this.trial = new GramProjection(p, q, derivatives, linearMin, linearMax);
    this.nonlinear = new Float64Array(q);
    this.trialNonlinear = new Float64Array(q);
    this.step = new Float64Array(q);
    this.work = new Float64Array(q * q);
    this.movable = new Uint8Array(q);
    this.min = checked.min;
    this.max = checked.max;
    this.model = { points: 0, accumulate: () => undefined };
  }

  /** See `SeparableSolver.solve`. */
  solve(
    model: SeparableModel,
    starts: readonly ArrayLike<number>[] = [this.checked.start],
    bounds?: NonlinearBounds,
  ): FitResult {
    const { checked } = this;
    checkStarts(checked.names.slice(checked.linearCount), starts, bounds);
    this.min = bounds ? Float64Array.from(bounds.min) : checked.min;
    this.max = bounds ? Float64Array.from(bounds.max) : checked.max;
    const columns: ColumnModel | null = 'accumulate' in model ? (model.columns ?? null) : model;
    if (columns) checkColumns(columns);
    this.model = 'accumulate' in model ? model : gramFromColumns(model, checked);
    this.iterations = 0;
    this.passes = 0;
    const order = starts.length > 1 ? this.bestFirst(starts) : [0];
    let best = Infinity;
    let kept: FitResult | null = null;
    for (const index of order) {
      this.iterate(starts[index]);
      const cost = this.termination === 'non-finite' ? Infinity : this.current.residualSumOfSquares;
      if (kept && !(cost < best)) continue;
      best = cost;
      kept = separableResult(this, columns, starts[index], this.model.points);
    }
    return { ...(kept as FitResult), iterations: this.iterations, evaluations: this.passes };
  }

  /** Indices of the starts with the lowest cost, best first; as many as are to be refined. */
  private bestFirst(starts: readonly ArrayLike<number>[]): number[] {
    const costs = starts.map((start) => {
      this.enter(start);
      return this.pass(this.nonlinear, this.current) ? this.current.residualSumOfSquares : Infinity;
    });
    const order = costs.map((_, index) => index).sort((a, b) => costs[a] - costs[b] || a - b);
    return order.slice(0, this.checked.refine);
  }

  private enter(start: ArrayLike<number>): void {
    for (let k = 0; k < this.nonlinear.length; k++) {
      this.nonlinear[k] = Math.min(Math.max(start[k], this.min[k]), this.max[k]);
    }
  }

  private pass(nonlinear: Float64Array, into: GramProjection): boolean {
    this.passes++;
    this.model.accumulate(nonlinear, into.gram);
    return into.project();
  }

  /** Damped Gauss–Newton from one start; leaves `nonlinear`, `current` and `termination`. */
  private iterate(start: ArrayLike<number>): void {
    this.enter(start);
    this.offsetSquared = Number.NaN;
    this.termination = 'non-finite';
    if (!this.pass(this.nonlinear, this.current)) return;
    this.termination = 'max-iterations';
    let damping = 0;
    for (let round = 0; round < this.checked.maxIterations; round++) {
      this.iterations++;
      if (this.isOptimal()) return;
      const moved = damping === 0 ? this.propose() : this.proposeDamped(damping);
      if (!moved) {
        this.termination = 'step';
        return;
      }
      const before = this.current.residualSumOfSquares;
      if (this.pass(this.trialNonlinear, this.trial) && this.trial.residualSumOfSquares < before) {
        this.nonlinear.set(this.trialNonlinear);
        [this.current, this.trial] = [this.trial, this.current];
        damping = damping <= FIRST_DAMPING ? 0 : damping / 10;
      } else if (Math.abs(this.trial.residualSumOfSquares - before) <= ROUNDING * this.sumOfY()) {
        this.termination = 'cost';
        return;
      } else damping = damping === 0 ? FIRST_DAMPING : damping * 10;
    }
  }

  private sumOfY(): number {
    const { gram, side } = this.current;
    return gram[side * side - 1];
  }

  /** Computes the undamped step into `step` and tests the relative offset. */
  private isOptimal(): boolean {
    const { current, movable, checked, nonlinear } = this;
    for (let k = 0; k < movable.length; k++) {
      const pull = current.gradient[k];
      const held =
        checked.fixed[k] ||
        (nonlinear[k] <= this.min[k] && pull < 0) ||
        (nonlinear[k] >= this.max[k] && pull > 0);
      movable[k] = held ? 0 : 1;
    }
    const { hessian, slopes, gradient, nonlinearCount: q, residualSumOfSquares: cost } = current;
    const fall = dampedStep(hessian, q, gradient, 0, slopes, movable, this.work, this.step);
    this.offsetSquared = cost > 0 ? fall / cost : 0;
    if (this.offsetSquared <= checked.offsetTolerance ** 2) this.termination = 'gradient';
    else if (fall <= ROUNDING * this.sumOfY()) this.termination = 'cost';
    else return false;
    return true;
  }

  private proposeDamped(damping: number): boolean {
    const { hessian, slopes, gradient, nonlinearCount: q } = this.current;
    dampedStep(hessian, q, gradient, damping, slopes, this.movable, this.work, this.step);
    return this.propose();
  }

  /** Limits `step`, pulls the trial inside the bounds; false where nothing moves any more. */
  private propose(): boolean {
    const { step, nonlinear, trialNonlinear, checked } = this;
    let fraction = 1;
    for (let k = 0; k < step.length; k++) {
      const length = Math.abs(step[k]);
      if (length * fraction > checked.maxStep[k]) fraction = checked.maxStep[k] / length;
    }
    let moved = false;
    for (let k = 0; k < step.length; k++) {
      const target = nonlinear[k] + fraction * step[k];
      trialNonlinear[k] = Math.min(Math.max(target, this.min[k]), this.max[k]);
      const change = Math.abs(trialNonlinear[k] - nonlinear[k]);
      if (change > STEP_TOLERANCE * Math.abs(nonlinear[k]) + Number.MIN_VALUE) moved = true;
    }
    return moved;
  }

  /**
   * The closing step: where the undamped step is within the tolerance it is taken for all parameters of the linearised problem without another
   * pass, so that the values are better than the stopping test. Not taken across a bound.
   */
  close(coefficients: Float64Array): number {
    const { step, nonlinear, current } = this;
    if (this.termination !== 'gradient' || current.linearState.some((state) => state !== 0)) return 0;
    for (let k = 0; k < step.length; k++) {
      const target = nonlinear[k] + step[k];
      if (!(target >= this.min[k] && target <= this.max[k])) return 0;
    }
    for (let k = 0; k < step.length; k++) nonlinear[k] += step[k];
    current.followLinear(step, coefficients);
    return this.offsetSquared * current.residualSumOfSquares;
  }
}
