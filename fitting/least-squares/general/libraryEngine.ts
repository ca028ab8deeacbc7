import { levenbergMarquardt } from 'ml-levenberg-marquardt';
import type { CheckedFitOptions } from './checkProblem.ts';
import { type IterationEnd, lengthOf } from './trustRegion.ts';
import type { WeightedResiduals } from './weightedResiduals.ts';

/** Iterations of one call, and calls; between calls the variables are scaled again. */
const BURST = 12;
const BURSTS = 5;
/** A call that lowers S by less than this fraction was the last. */
const WORTHWHILE = 1e-6;

/**
 * The general engine: ml-levenberg-marquardt, wrapped so that its known traps do not reach the caller.
 *
 * - It damps all parameters alike, so it gets variables in which every Jacobian column has unit length; they
 *   are scaled again every `BURST`
 *   iterations, because the lengths change on the way.
 * - Its differences use an absolute step, so it gets our Jacobian (analytic, or central differences).
 * - Fixing any parameter but the last shifts its Jacobian, so it only ever sees the free ones.
 * - Its weights enter cost and step differently, so √w is put into data and model, and it sees unit weights.
 * - It has no stop reason, so it never decides: the result goes through the finish and its certificate.
 *
 * @returns the point it reached, or null where the start is not finite
 */
export function libraryEngine(
  problem: WeightedResiduals,
  start: Float64Array,
  options: CheckedFitOptions,
): IterationEnd | null {
  const points = problem.problem.y.length;
  const columns = start.length > 0 ? Array.from(start, () => new Float64Array(points)) : [];
  let residual: Float64Array = new Float64Array(points);
  let free: Float64Array = start.slice();
  let cost = problem.evaluate(free, residual);
  if (cost === Infinity || start.length === 0 || points < 2) return null;
  let iterations = 0;
  for (let burst = 0; burst < BURSTS && iterations < options.maxIterations && cost > 0; burst++) {
    if (!problem.jacobian(free, columns, 'central')) break;
    const size = Math.sqrt(cost);
    const unit = columns.map((column) => size / (lengthOf(column) || size));
    const next = runBurst(problem, free, unit, size, Math.min(BURST, options.maxIterations - iterations));
    iterations += BURST;
    const nextResidual = new Float64Array(points);
    const nextCost = next ? problem.evaluate(next, nextResidual) : Infinity;
    if (!next || !(nextCost < cost)) break;
    const worthwhile = cost - nextCost > WORTHWHILE * cost;
    free = next;
    residual = nextResidual;
    cost = nextCost;
    if (!worthwhile) break;
  }
  return { free, residual, cost, termination: 'max-iterations', iterations };
}

/**
 * One call of the library in the variables u = free / unit, residuals in units of `size`. Null where it
 * fails.
 */
function runBurst(
  problem: WeightedResiduals,
  from: Float64Array,
  unit: readonly number[],
  size: number,
  maxIterations: number,
): Float64Array | null {
  const { y, freeIndex, min, max } = problem.problem;
  const points = y.length;
  const residual = new Float64Array(points);
  const columns = unit.map(() => new Float64Array(points));
  const expand = (u: ArrayLike<number>): Float64Array => Float64Array.from(unit, (s, f) => u[f] * s);
  const inUnits = (bounds: Float64Array): number[] => unit.map((s, f) => bounds[freeIndex[f]] / s);
  try {
    const end = levenbergMarquardt(
      { x: Float64Array.from(y, (_, i) => i), y: new Float64Array(points) },
      (u) => {
        problem.evaluate(expand(u), residual);
        const values = residual.map((rest) => -rest / size);
        return (i) => values[i];
      },
      {
        initialValues: unit.map((s, f) => from[f] / s),
        minValues: inUnits(min),
        maxValues: inUnits(max),
        damping: 1e-2,
        maxIterations,
        errorTolerance: 1e-15,
        jacobianFunction: (u) => {
          problem.jacobian(expand(u), columns, 'central');
          return (i) => columns.map((column, f) => (column[i] * unit[f]) / size);
        },
      },
    );
    const free = expand(end.parameterValues);
    for (let f = 0; f < free.length; f++) {
      free[f] = Math.min(Math.max(free[f], min[freeIndex[f]]), max[freeIndex[f]]);
    }
    return free.every(Number.isFinite) ? free : null;
  } catch {
    // The library throws on singular or non-finite matrices; the trust region then stands alone.
    return null;
  }
}
