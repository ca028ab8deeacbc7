import { dotProduct } from '../../numeric/index.ts';
import type { Termination } from '../types.ts';
import type { CheckedFitOptions } from './checkProblem.ts';
import { LinearisedProblem, scaledLength } from './linearisedProblem.ts';
import type { DifferenceKind, WeightedResiduals } from './weightedResiduals.ts';

/** Radius of the first step, as a multiple of the scaled length of the start. */
const FIRST_RADIUS = 1;

/** Where an iteration ended. */
export interface IterationEnd {
  readonly free: Float64Array;
  readonly residual: Float64Array;
  readonly cost: number;
  readonly termination: Termination;
  readonly iterations: number;
}

/**
 * Levenberg–Marquardt as a trust region with scaled variables (Moré, Lecture Notes in Mathematics 630 (1978)
 * 105): the step minimises ‖r − Jδ‖ within ‖Dδ‖ ≤ Δ, by QR, D holding the largest column lengths seen so far;
 * bounds by fixing what the step would carry across and solving again for the rest.
 *
 * @param start free parameters, inside the bounds
 */
export function trustRegion(
  problem: WeightedResiduals,
  start: Float64Array,
  options: CheckedFitOptions,
  kind: DifferenceKind,
  firstRadius = FIRST_RADIUS,
): IterationEnd {
  const walk = new Walk(problem, start, options);
  const columns = Array.from(start, () => new Float64Array(problem.problem.y.length));
  if (walk.cost === Infinity || !problem.jacobian(walk.free, columns, kind)) return walk.end('non-finite', 0);
  const scale = columns.map((column) => lengthOf(column) || 1);
  walk.radius = firstRadius * (scaledLength(scale, walk.free) || 1);
  for (let iteration = 1; iteration <= options.maxIterations; iteration++) {
    if (iteration > 1) {
      // At the edge of where the model is finite: no way on, but a point worth keeping.
      if (!problem.jacobian(walk.free, columns, kind)) return walk.end('max-iterations', iteration);
      columns.forEach((column, f) => {
        scale[f] = Math.max(scale[f], lengthOf(column));
      });
    }
    const model = new LinearisedProblem(problem, columns, walk.residual, walk.free, scale);
    if (model.offset <= options.offsetTolerance || model.gradientIsRounding)
      return walk.end('gradient', iteration);
    let outcome: Termination | 'accepted' | 'rejected';
    do outcome = walk.tryStep(model);
    while (outcome === 'rejected');
    if (outcome !== 'accepted') return walk.end(outcome, iteration);
  }
  return walk.end('max-iterations', options.maxIterations);
}

/** The point, its residuals and the radius. */
class Walk {
  free: Float64Array;
  residual: Float64Array;
  cost: number;
  radius = 0;
  private trialResidual: Float64Array;
  private readonly problem: WeightedResiduals;
  private readonly options: CheckedFitOptions;

  constructor(problem: WeightedResiduals, start: Float64Array, options: CheckedFitOptions) {
    const points = problem.problem.y.length;
    this.problem = problem;
    this.options = options;
    this.free = start.slice();
    this.residual = new Float64Array(points);
    this.trialResidual = new Float64Array(points);
    this.cost = problem.evaluate(this.free, this.residual);
  }

  end(termination: Termination, iterations: number): IterationEnd {
    return { free: this.free, residual: this.residual, cost: this.cost, termination, iterations };
  }

  /**
   * One step at the present radius, and the radius after it. A rejected step at least halves the radius, so
   * rejections end.
   */
  tryStep(model: LinearisedProblem): Termination | 'accepted' | 'rejected' {
    const { stepTolerance, costTolerance } = this.options;
    const { step, predicted, length } = model.stepWithin(this.radius);
    const trial = model.clamp(this.free.map((value, f) => value + step[f]));
    const trialCost = this.problem.evaluate(trial, this.trialResidual);
    const actual = (this.cost - trialCost) / this.cost;
    const ratio = predicted > 0 ? actual / predicted : 0;
    if (ratio <= 0.25)
      this.radius = Math.min(this.radius, length) * shrinkBy(actual, model.slope(step), predicted);
    else if (ratio >= 0.75) this.radius = Math.max(this.radius, 2 * length);
    const moved = step.some((change, f) => Math.abs(change) > stepTolerance * Math.abs(this.free[f]));
    const accepted = ratio > 1e-4;
    if (accepted) {
      this.free = trial;
      [this.residual, this.trialResidual] = [this.trialResidual, this.residual];
      this.cost = trialCost;
      if (trialCost === 0) return 'cost';
    }
    if (!moved) return 'step';
    if (Math.abs(actual) <= costTolerance && predicted <= costTolerance) return 'cost';
    return accepted ? 'accepted' : 'rejected';
  }
}

/** Moré's (4.5): the minimiser of the parabola through both costs and the slope, kept between 0.1 and 0.5. */
function shrinkBy(actual: number, slope: number, predicted: number): number {
  if (actual >= 0 || predicted <= 0) return 0.5;
  if (!Number.isFinite(actual)) return 0.1;
  return Math.min(0.5, Math.max(0.1, (0.5 * slope) / (slope + 0.5 * actual)));
}

export function lengthOf(column: Float64Array): number {
  return Math.sqrt(dotProduct(column, column));
}
