import type { CheckedFitOptions } from './checkProblem.ts';
import { boundedDampedStep, scaledLength } from './trustRegionStep.ts';
import type { Termination } from './types.ts';
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
 * Levenberg–Marquardt as a trust region with scaled variables (Moré, Lecture Notes in Mathematics 630 (1978) 105): the step
 * minimises ‖r − Jδ‖ within ‖Dδ‖ ≤ Δ, by QR, D holding the largest column lengths seen so far; bounds by fixing what the step would
 * carry across and solving again for the rest.
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
  const n = start.length;
  const points = problem.problem.y.length;
  let free = start.slice();
  let residual: Float64Array = new Float64Array(points);
  let trialResidual: Float64Array = new Float64Array(points);
  const columns = Array.from({ length: n }, () => new Float64Array(points));
  let cost = problem.evaluate(free, residual);
  const end = (termination: Termination, iterations: number): IterationEnd => ({
    free,
    residual,
    cost,
    termination,
    iterations,
  });
  if (cost === Infinity || !problem.jacobian(free, columns, kind)) return end('non-finite', 0);
  const scale = columns.map((column) => lengthOf(column) || 1);
  let radius = firstRadius * (scaledLength(scale, free) || 1);
  for (let iteration = 1; iteration <= options.maxIterations; iteration++) {
    if (iteration > 1) {
      if (!problem.jacobian(free, columns, kind)) return end('non-finite', iteration);
      columns.forEach((column, f) => {
        scale[f] = Math.max(scale[f], lengthOf(column));
      });
    }
    const solver = boundedDampedStep(problem.problem, columns, residual, free, scale);
    if (solver.offset <= options.offsetTolerance || solver.gradientIsRounding)
      return end('gradient', iteration);
    for (;;) {
      const { step, predicted, length } = solver.within(radius);
      const trial = free.map((value, f) => value + step[f]);
      const trialCost = problem.evaluate(solver.clamp(trial), trialResidual);
      const actual = (cost - trialCost) / cost;
      const ratio = predicted > 0 ? actual / predicted : 0;
      if (ratio <= 0.25) {
        radius = Math.min(radius, length) * shrinkBy(actual, solver.slope(step), predicted);
      } else if (ratio >= 0.75) radius = Math.max(radius, 2 * length);
      const moved = step.some((change, f) => Math.abs(change) > options.stepTolerance * Math.abs(free[f]));
      if (ratio > 1e-4) {
        free = trial;
        [residual, trialResidual] = [trialResidual, residual];
        cost = trialCost;
        if (cost === 0) return end('cost', iteration);
        if (!moved) return end('step', iteration);
        if (actual <= options.costTolerance && predicted <= options.costTolerance)
          return end('cost', iteration);
        break;
      }
      if (!moved) return end('step', iteration);
      if (Math.abs(actual) <= options.costTolerance && predicted <= options.costTolerance)
        return end('cost', iteration);
    }
  }
  return end('max-iterations', options.maxIterations);
}

/** Moré's (4.5): the minimiser of the parabola through both costs and the slope, kept between 0.1 and 0.5. */
function shrinkBy(actual: number, slope: number, predicted: number): number {
  if (actual >= 0 || predicted <= 0) return 0.5;
  if (!Number.isFinite(actual)) return 0.1;
  return Math.min(0.5, Math.max(0.1, (0.5 * slope) / (slope + 0.5 * actual)));
}

export function lengthOf(column: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < column.length; i++) sum += column[i] * column[i];
  return Math.sqrt(sum);
}
