import { type CheckedSeparable, checkedColumns, checkStarts } from './checkSeparable.ts';
import { dampedStep } from './dampedStep.ts';
import { gramFromColumns } from './gramFromColumns.ts';
import { GramProjection } from './gramProjection.ts';
import { CERTIFIED_OFFSET } from './polishSeparable.ts';
import type { ColumnModel, GramModel, NonlinearBounds, SeparableModel } from './separable.ts';
import { separableResult } from './separableResult.ts';
import type { FitResult, Termination } from './types.ts';

/** Relative rounding of a sum of squares formed by subtraction from yᵀWy. */
const ROUNDING = 1e-15;
/** Damping grows from this by tens until the cost falls. */
const FIRST_DAMPING = 1e-3;
const STEP_TOLERANCE = 1e-14;

/** The column model of a data set, made on first use; null where there is none. */
export type ColumnSource = (() => ColumnModel) | null;

/** State of one solve: kept on the solver so that nothing is allocated while it iterates. */
export class SeparableIteration {
  readonly checked: CheckedSeparable;
  private readonly nonlinearNames: readonly string[];
  /** At the values accepted last. */
  current: GramProjection;
  private trial: GramProjection;
  readonly nonlinear: Float64Array;
  private readonly trialNonlinear: Float64Array;
  private readonly step: Float64Array;
  private readonly work: Float64Array;
  private readonly movable: Uint8Array;
  private readonly bestNonlinear: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
  /** Work arrays of the result. */
  readonly scratch: {
    normal: Float64Array;
    inverse: Float64Array;
    scale: Float64Array;
    values: Float64Array;
  };
  iterations = 0;
  passes = 0;
  termination: Termination = 'non-finite';
  /** (‖P r‖/‖r‖)² at `nonlinear`. */
  offsetSquared = Number.NaN;
  /** `step` is the undamped step at `nonlinear`, and small. */
  private closable = false;
  private model: GramModel;

  constructor(checked: CheckedSeparable) {
    const { linearCount: p, nonlinearCount: q, derivatives, linearMin, linearMax } = checked;
    this.checked = checked;
    this.nonlinearNames = checked.names.slice(p);
    this.current = new GramProjection(p, q, derivatives, linearMin, linearMax);
    this.trial = new GramProjection(p, q, derivatives, linearMin, linearMax);
    this.nonlinear = new Float64Array(q);
    this.trialNonlinear = new Float64Array(q);
    this.step = new Float64Array(q);
    this.work = new Float64Array(q * q);
    this.movable = new Uint8Array(q);
    this.min = checked.min.slice();
    this.max = checked.max.slice();
    this.bestNonlinear = new Float64Array(q);
    this.scratch = {
      normal: new Float64Array((p + q) ** 2),
      inverse: new Float64Array((p + q) ** 2),
      scale: new Float64Array(p + q),
      values: new Float64Array(p + q),
    };
    this.model = { points: 0, accumulate: () => undefined };
  }

  /** See `SeparableSolver.solve`. */
  solve(
    model: SeparableModel,
    starts: readonly ArrayLike<number>[] = [this.checked.start],
    bounds?: NonlinearBounds,
  ): FitResult {
    const { checked } = this;
    checkStarts(this.nonlinearNames, starts, bounds);
    this.min.set(bounds?.min ?? checked.min);
    this.max.set(bounds?.max ?? checked.max);
    let columns: ColumnSource = null;
    if ('accumulate' in model) {
      const given = model.columns;
      columns = given ? () => checkedColumns(typeof given === 'function' ? given() : given) : null;
      this.model = model;
    } else {
      checkedColumns(model);
      columns = () => model;
      this.model = gramFromColumns(model, checked);
    }
    this.iterations = 0;
    this.passes = 0;
    if (starts.length === 1) {
      this.iterate(starts[0]);
      if (!this.isStuck()) return this.finished(columns, starts[0]);
    }
    return this.solveFrom(starts.length > 1 ? this.bestFirst(starts) : starts, columns);
  }

  /** Iterates every start, leaves creases, and keeps the lowest cost. */
  private solveFrom(starts: readonly ArrayLike<number>[], columns: ColumnSource): FitResult {
    const best = { cost: Infinity, start: starts[0] };
    this.enter(starts[0]);
    this.bestNonlinear.set(this.nonlinear);
    const attempt = (from: ArrayLike<number>, start: ArrayLike<number>): void => {
      this.iterate(from);
      const cost = this.termination === 'non-finite' ? Infinity : this.current.residualSumOfSquares;
      if (!(cost < best.cost)) return;
      best.cost = cost;
      best.start = start;
      this.bestNonlinear.set(this.nonlinear);
    };
    for (const start of starts) attempt(start, start);
    if (starts.length > 1) this.iterate(this.bestNonlinear);
    if (this.isStuck()) {
      for (const from of this.escapes()) attempt(from, best.start);
      this.iterate(this.bestNonlinear);
    }
    const result = this.finished(columns, best.start);
    if (result.rank === result.freeParameters || !columns) return result;
    // The finish can lead into a crease that the Gram sums did not see: look around it once more.
    this.nonlinear.set(result.parameters.slice(this.checked.linearCount).map((parameter) => parameter.value));
    best.cost = (result.residualSumOfSquares ?? Infinity) * (1 - 1e-9);
    const before = best.cost;
    for (const from of this.escapes()) attempt(from, best.start);
    if (!(best.cost < before)) return { ...result, iterations: this.iterations, evaluations: this.passes };
    this.iterate(this.bestNonlinear);
    return this.finished(columns, best.start);
  }

  private finished(columns: ColumnSource, start: ArrayLike<number>): FitResult {
    return separableResult(this, columns, start, this.model.points);
  }

  /** No optimum, or one where the parameters are not separately determined: perhaps a crease between two valleys. */
  private isStuck(): boolean {
    if (this.termination === 'non-finite') return false;
    if (!this.isCertified(CERTIFIED_OFFSET)) return true;
    const { linearState } = this.current;
    for (let j = 0; j < linearState.length; j++) if (linearState[j] === 3) return true;
    const q = this.nonlinear.length;
    for (let k = 0; k < q; k++) if (this.movable[k] === 1 && this.work[k * q + k] === 0) return true;
    return false;
  }

  /** Starts around the present point: each nonlinear parameter alone, half its largest step (or half itself) up and down. */
  private escapes(): Float64Array[] {
    const around: Float64Array[] = [];
    this.nonlinear.forEach((value, k) => {
      if (this.checked.fixed[k]) return;
      const limit = this.checked.maxStep[k];
      const shift = limit < Infinity ? limit / 2 : 0.5 * (Math.abs(value) || 1);
      for (const side of [-shift, shift]) {
        const from = this.nonlinear.slice();
        from[k] += side;
        around.push(from);
      }
    });
    return around;
  }

  /** The starts with the lowest cost, best first; as many as are to be refined. */
  private bestFirst(starts: readonly ArrayLike<number>[]): ArrayLike<number>[] {
    const costs = starts.map((start) => {
      this.enter(start);
      return this.pass(this.nonlinear, this.current) ? this.current.residualSumOfSquares : Infinity;
    });
    const order = costs.map((_, index) => index).sort((a, b) => costs[a] - costs[b] || a - b);
    return order.slice(0, this.checked.refine).map((index) => starts[index]);
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
    this.closable = false;
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
        this.closable = damping === 0 && this.offsetSquared <= CERTIFIED_OFFSET ** 2;
        return;
      } else damping = damping === 0 ? FIRST_DAMPING : damping * 10;
    }
  }

  /**
   * Whether the point is an optimum as far as Gram sums can tell: the relative offset is within `offset`, or what is left to gain is below
   * the rounding of the sums.
   */
  isCertified(offset: number): boolean {
    if (this.termination === 'non-finite') return false;
    const gain = this.offsetSquared * this.current.residualSumOfSquares;
    return this.offsetSquared <= offset * offset || gain <= 4 * ROUNDING * this.sumOfY();
  }

  /** All parameters at a nonlinear start, the linear ones solved there. One pass. */
  valuesAt(start: ArrayLike<number>): Float64Array {
    const p = this.checked.linearCount;
    const values = new Float64Array(p + this.nonlinear.length);
    for (let k = 0; k < this.nonlinear.length; k++) {
      this.trialNonlinear[k] = Math.min(Math.max(start[k], this.min[k]), this.max[k]);
    }
    if (this.pass(this.trialNonlinear, this.trial)) values.set(this.trial.coefficients);
    values.set(this.trialNonlinear, p);
    return values;
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
    this.closable = true;
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
   * The closing step: where the undamped step is within the tolerance, or changes S by less than its rounding, it is taken for all parameters of the linearised problem without another
   * pass, so that the values are better than the stopping test. Not taken across a bound.
   */
  close(coefficients: Float64Array): number {
    const { step, nonlinear, current } = this;
    if (!this.closable) return 0;
    for (let j = 0; j < current.linearState.length; j++) if (current.linearState[j] !== 0) return 0;
    for (let k = 0; k < step.length; k++) {
      const target = nonlinear[k] + step[k];
      if (!(target >= this.min[k] && target <= this.max[k])) return 0;
    }
    for (let k = 0; k < step.length; k++) nonlinear[k] += step[k];
    current.followLinear(step, coefficients);
    return this.offsetSquared * current.residualSumOfSquares;
  }
}
