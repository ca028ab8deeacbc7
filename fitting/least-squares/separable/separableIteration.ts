import type { Termination } from '../types.ts';
import { BoxedStep } from './boxedStep.ts';
import type { CheckedSeparable } from './checkSeparable.ts';
import { dampedStep } from './dampedStep.ts';
import { GramProjection } from './gramProjection.ts';
import { CERTIFIED_OFFSET } from './polishSeparable.ts';
import type { GramModel, NonlinearBounds } from './separableProblem.ts';

/** Relative rounding of a sum of squares formed by subtraction from yᵀWy. */
const ROUNDING = 1e-15;
/** Damping grows from this by tens until the cost falls. */
const FIRST_DAMPING = 1e-3;
const STEP_TOLERANCE = 1e-14;
/**
 * Damped Gauss–Newton on the nonlinear parameters: state of one solve, kept on the solver so that nothing is
 * allocated while it iterates.
 */
export class SeparableIteration {
  readonly checked: CheckedSeparable;
  /** At the values accepted last. */
  current: GramProjection;
  private trial: GramProjection;
  readonly nonlinear: Float64Array;
  private readonly trialNonlinear: Float64Array;
  /** The undamped step, regardless of bounds. */
  private readonly step: Float64Array;
  /** The step taken: inside bounds and step limits. */
  private readonly boxed: Float64Array;
  private readonly low: Float64Array;
  private readonly high: Float64Array;
  private readonly box: BoxedStep;
  private readonly work: Float64Array;
  private readonly movable: Uint8Array;
  /** For the caller: the best point of several runs. */
  readonly best: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
  /** Work arrays of the result. */
  readonly scratch: {
    normal: Float64Array;
    inverse: Float64Array;
    scale: Float64Array;
    values: Float64Array;
  };
  /** Sums of points to which the solve comes back: the starts it compared, and the best end of a run. */
  private readonly kept: { readonly at: Float64Array; readonly gram: Float64Array }[] = [];
  private keptCount = 0;
  iterations = 0;
  /** Points at which the model was wanted, those that were kept among them. */
  passes = 0;
  termination: Termination = 'non-finite';
  /** (‖P r‖/‖r‖)² at `nonlinear`. */
  offsetSquared = Number.NaN;
  /** A nonlinear parameter that may move has no curvature of its own. */
  private lacksPivot = false;
  /** `step` is the undamped step at `nonlinear`, and small. */
  private closable = false;
  private model: GramModel;

  constructor(checked: CheckedSeparable) {
    const { linearCount: p, nonlinearCount: q, derivatives, linearMin, linearMax } = checked;
    this.checked = checked;
    this.current = new GramProjection(p, q, derivatives, linearMin, linearMax);
    this.trial = new GramProjection(p, q, derivatives, linearMin, linearMax);
    this.nonlinear = new Float64Array(q);
    this.trialNonlinear = new Float64Array(q);
    this.step = new Float64Array(q);
    this.boxed = new Float64Array(q);
    this.low = new Float64Array(q);
    this.high = new Float64Array(q);
    this.box = new BoxedStep(q);
    this.work = new Float64Array(q * q);
    this.movable = new Uint8Array(q);
    this.min = checked.min.slice();
    this.max = checked.max.slice();
    this.best = new Float64Array(q);
    this.scratch = {
      normal: new Float64Array((p + q) ** 2),
      inverse: new Float64Array((p + q) ** 2),
      scale: new Float64Array(p + q),
      values: new Float64Array(p + q),
    };
    this.model = { points: 0, accumulate: () => undefined };
  }

  /** Takes a data set. */
  begin(model: GramModel, bounds: NonlinearBounds | undefined): void {
    this.min.set(bounds?.min ?? this.checked.min);
    this.max.set(bounds?.max ?? this.checked.max);
    this.model = model;
    this.iterations = 0;
    this.passes = 0;
    this.keptCount = 0;
  }

  get points(): number {
    return this.model.points;
  }

  /** S at a start, pulled inside the bounds; Infinity where it is not finite. One pass, which a run from there need not repeat. */
  costAt(start: ArrayLike<number>): number {
    this.enter(start);
    const finite = this.pass(this.nonlinear, this.current);
    this.keep();
    return finite ? this.current.residualSumOfSquares : Infinity;
  }

  /** Keeps the point reached as the best so far, so that the solve can come back to it without a pass. */
  keepBest(): void {
    this.best.set(this.nonlinear);
    this.keep();
  }

  private keep(): void {
    const { kept, nonlinear, current } = this;
    if (this.keptCount === kept.length) {
      kept.push({ at: new Float64Array(nonlinear.length), gram: new Float64Array(current.gram.length) });
    }
    const slot = kept[this.keptCount++];
    slot.at.set(nonlinear);
    slot.gram.set(current.gram);
  }

  private keptAt(nonlinear: Float64Array): Float64Array | null {
    for (let s = 0; s < this.keptCount; s++) {
      const { at, gram } = this.kept[s];
      let k = 0;
      while (k < at.length && at[k] === nonlinear[k]) k++;
      if (k === at.length) return gram;
    }
    return null;
  }

  /** S at the end of the last iteration. */
  get cost(): number {
    return this.termination === 'non-finite' ? Infinity : this.current.residualSumOfSquares;
  }

  /**
   * No optimum, or one where the parameters are not separately determined: perhaps a crease between two
   * valleys.
   */
  isStuck(): boolean {
    if (this.termination === 'non-finite') return false;
    if (!this.isCertified(CERTIFIED_OFFSET)) return true;
    const { linearState } = this.current;
    for (let j = 0; j < linearState.length; j++) if (linearState[j] === 3) return true;
    return this.lacksPivot;
  }

  /** Puts `nonlinear` to a start, pulled inside the bounds. */
  enter(start: ArrayLike<number>): void {
    for (let k = 0; k < this.nonlinear.length; k++) {
      this.nonlinear[k] = Math.min(Math.max(start[k], this.min[k]), this.max[k]);
    }
  }

  private pass(nonlinear: Float64Array, into: GramProjection): boolean {
    this.passes++;
    const known = this.keptAt(nonlinear);
    if (known === null) this.model.accumulate(nonlinear, into.gram);
    else into.gram.set(known);
    return into.project();
  }

  /** Damped Gauss–Newton from one start; leaves `nonlinear`, `current` and `termination`. */
  iterate(start: ArrayLike<number>): void {
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
      if (!this.propose(damping)) {
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
   * Whether the point is an optimum as far as Gram sums can tell: the relative offset is within `offset`, or
   * what is left to gain is below the rounding of the sums.
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
    this.lacksPivot = false;
    for (let k = 0; k < q; k++) if (movable[k] === 1 && this.work[k * q + k] === 0) this.lacksPivot = true;
    const before = this.offsetSquared;
    this.offsetSquared = cost > 0 ? fall / cost : 0;
    // What the closing step will leave, at the rate of the step before: Gauss–Newton converges linearly or
    // better.
    const after = this.offsetSquared * Math.min(1, this.offsetSquared / before);
    const closes = this.offsetSquared <= CERTIFIED_OFFSET ** 2 && after <= checked.offsetTolerance ** 2;
    if (this.offsetSquared <= checked.offsetTolerance ** 2 || (closes && this.canClose())) {
      this.termination = 'gradient';
    } else if (fall <= ROUNDING * this.sumOfY()) this.termination = 'cost';
    else return false;
    this.closable = true;
    return true;
  }

  /** Fills `trialNonlinear`: the step inside bounds and step limits; false where nothing moves any more. */
  private propose(damping: number): boolean {
    const { boxed, low, high, nonlinear, trialNonlinear, checked } = this;
    const { slopes, gradient, hessian } = this.current;
    for (let k = 0; k < boxed.length; k++) {
      low[k] = Math.max(this.min[k] - nonlinear[k], -checked.maxStep[k]);
      high[k] = Math.min(this.max[k] - nonlinear[k], checked.maxStep[k]);
    }
    this.box.solve(hessian, gradient, damping, slopes, this.movable, low, high, boxed);
    let moved = false;
    for (let k = 0; k < boxed.length; k++) {
      trialNonlinear[k] = Math.min(Math.max(nonlinear[k] + boxed[k], this.min[k]), this.max[k]);
      const change = Math.abs(trialNonlinear[k] - nonlinear[k]);
      if (change > STEP_TOLERANCE * Math.abs(nonlinear[k]) + Number.MIN_VALUE) moved = true;
    }
    return moved;
  }

  /**
   * The closing step: where the undamped step is within the tolerance, or changes S by less than its
   * rounding, it is taken for all parameters of the linearised problem without another pass, so that the
   * values are better than the stopping test. Not taken across a bound.
   */
  close(coefficients: Float64Array): number {
    const { step, nonlinear, current } = this;
    if (!this.closable || !this.canClose()) return 0;
    for (let k = 0; k < step.length; k++) nonlinear[k] += step[k];
    current.followLinear(step, coefficients);
    return this.offsetSquared * current.residualSumOfSquares;
  }

  /** No bound is active or would be crossed. */
  private canClose(): boolean {
    const { step, nonlinear, current } = this;
    for (let j = 0; j < current.linearState.length; j++) if (current.linearState[j] !== 0) return false;
    for (let k = 0; k < step.length; k++) {
      const target = nonlinear[k] + step[k];
      if (!(target >= this.min[k] && target <= this.max[k])) return false;
    }
    return true;
  }
}
