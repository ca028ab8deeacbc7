import type { FitResult } from '../types.ts';
import { checkedColumns, checkStarts } from './checkSeparable.ts';
import { gramFromColumns } from './gramFromColumns.ts';
import type { SeparableIteration } from './separableIteration.ts';
import type { ColumnSource, NonlinearBounds, SeparableModel } from './separableProblem.ts';
import { separableResult } from './separableResult.ts';

/** See `SeparableSolver.solve`: one data set from one or more starts. */
export function solveSeparable(
  run: SeparableIteration,
  model: SeparableModel,
  starts: readonly ArrayLike<number>[] = [run.checked.start],
  bounds?: NonlinearBounds,
): FitResult {
  checkStarts(run.checked.nonlinearNames, starts, bounds);
  let columns: ColumnSource = null;
  if ('accumulate' in model) {
    const given = model.columns;
    columns = given ? () => checkedColumns(typeof given === 'function' ? given() : given) : null;
    run.begin(model, bounds);
  } else {
    checkedColumns(model);
    columns = () => model;
    run.begin(gramFromColumns(model, run.checked), bounds);
  }
  if (starts.length > 1) return fromSeveral(run, bestFirst(run, starts), columns);
  run.iterate(starts[0]);
  return run.isStuck() ? fromSeveral(run, starts, columns) : separableResult(run, columns, starts[0]);
}

/** Iterates every start, leaves creases, and keeps the lowest cost. */
function fromSeveral(
  run: SeparableIteration,
  starts: readonly ArrayLike<number>[],
  columns: ColumnSource,
): FitResult {
  const best = { cost: Infinity, start: starts[0] };
  run.enter(starts[0]);
  run.best.set(run.nonlinear);
  const attempt = (from: ArrayLike<number>, start: ArrayLike<number>): void => {
    run.iterate(from);
    if (!(run.cost < best.cost)) return;
    best.cost = run.cost;
    best.start = start;
    run.keepBest();
  };
  for (const start of starts) attempt(start, start);
  if (starts.length > 1) run.iterate(run.best);
  if (run.isStuck()) {
    for (const from of escapes(run)) attempt(from, best.start);
    run.iterate(run.best);
  }
  const result = separableResult(run, columns, best.start);
  if (result.rank === result.freeParameters || !columns) return result;
  // The finish can lead into a crease that the Gram sums did not see: look around it once more.
  run.enter(result.parameters.slice(run.checked.linearCount).map((parameter) => parameter.value));
  best.cost = (result.residualSumOfSquares ?? Infinity) * (1 - 1e-9);
  const before = best.cost;
  for (const from of escapes(run)) attempt(from, best.start);
  if (!(best.cost < before)) return { ...result, iterations: run.iterations, evaluations: run.passes };
  run.iterate(run.best);
  return separableResult(run, columns, best.start);
}

/**
 * Starts around the present point: each nonlinear parameter alone, half its largest step (or half itself) up
 * and down.
 */
function escapes(run: SeparableIteration): Float64Array[] {
  const around: Float64Array[] = [];
  run.nonlinear.forEach((value, k) => {
    if (run.checked.fixed[k]) return;
    const limit = run.checked.maxStep[k];
    const shift = limit < Infinity ? limit / 2 : 0.5 * (Math.abs(value) || 1);
    for (const side of [-shift, shift]) {
      const from = run.nonlinear.slice();
      from[k] += side;
      around.push(from);
    }
  });
  return around;
}

/** The starts with the lowest cost, best first; as many as are to be refined. */
function bestFirst(run: SeparableIteration, starts: readonly ArrayLike<number>[]): ArrayLike<number>[] {
  const costs = starts.map((start) => run.costAt(start));
  const order = costs.map((_, index) => index).sort((a, b) => costs[a] - costs[b] || a - b);
  return order.slice(0, run.checked.refine).map((index) => starts[index]);
}
