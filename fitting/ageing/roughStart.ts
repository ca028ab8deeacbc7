import type { GramModel, GramProjection } from '../least-squares/index.ts';

/** Steps of Gauss–Newton after the grid. */
const STEPS = 3;

/** A start for one nonlinear parameter, and the index of the model it belongs to. */
export interface RoughStart {
  readonly theta: number;
  readonly model: number;
}

/**
 * Finds a start for models of one nonlinear parameter on a few points: the best of a grid over all of them, then some
 * Gauss–Newton steps on the best model, each taken only while the cost falls. It allocates nothing but the answer,
 * which is why the general engine (with its complete result) is not used for this.
 *
 * @param models write the Gram sums at theta into the projection's `gram`; all of one shape
 * @param grid values of theta, rising; the answer stays within its ends widened by one step of it
 */
export function roughStart(
  projection: GramProjection,
  models: readonly GramModel[],
  grid: readonly number[],
): RoughStart {
  const theta = new Float64Array(1);
  let best = grid[0];
  let which = 0;
  let cost = Infinity;
  for (let m = 0; m < models.length; m++) {
    for (let g = 0; g < grid.length; g++) {
      const there = costAt(projection, models[m], theta, grid[g]);
      if (there < cost) {
        cost = there;
        best = grid[g];
        which = m;
      }
    }
  }
  const reach = grid[1] - grid[0];
  let here = costAt(projection, models[which], theta, best);
  for (let step = 0; step < STEPS; step++) {
    const move = projection.gradient[0] / projection.hessian[0];
    if (!Number.isFinite(move) || Math.abs(move) < 3e-3) break;
    const limited = Math.max(-reach, Math.min(reach, move));
    const next = Math.min(Math.max(best + limited, grid[0] - reach), grid[grid.length - 1] + reach);
    const there = costAt(projection, models[which], theta, next);
    if (!(there < here)) break;
    here = there;
    best = next;
  }
  return { theta: best, model: which };
}

function costAt(projection: GramProjection, model: GramModel, theta: Float64Array, value: number): number {
  theta[0] = value;
  model.accumulate(theta, projection.gram);
  return projection.project() ? projection.residualSumOfSquares : Infinity;
}
