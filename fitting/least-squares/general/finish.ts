import {
  applyQTransposed,
  type Curvature,
  curvatureFromQr,
  dotProduct,
  factorQr,
  solveR,
} from '../../numeric/index.ts';
import type { ParameterState } from '../inference/assembleResult.ts';
import { dataLength, gradientIsRounding } from './gradientRounding.ts';
import type { IterationEnd } from './trustRegion.ts';
import type { WeightedResiduals } from './weightedResiduals.ts';

const MOST_STEPS = 30;
/** S may rise by this fraction, and by the rounding of its residuals, while the gradient still falls. */
const COST_ROUNDING = 1e-12;
const EPSILON = 2.220446049250313e-16;

/** What the finish certifies. */
export interface Finished {
  readonly free: Float64Array;
  readonly residual: Float64Array;
  readonly cost: number;
  /** By free parameter. */
  readonly states: readonly ParameterState[];
  readonly curvature: Curvature | null;
  readonly relativeOffset: number;
  /** Every |Jⱼᵀr| is at the rounding of the data. */
  readonly gradientIsRounding: boolean;
}

/**
 * Ends a fit on the accurate Jacobian: undamped Gauss–Newton steps by QR, judged by the relative offset and
 * not by S, because near the optimum S is flat to its rounding while the gradient still says where to go.
 * Keeps the point with the least offset. The certificate is that offset; the covariance comes from the same
 * factor.
 */
export function finish(problem: WeightedResiduals, end: IterationEnd): Finished {
  let best = linearise(problem, end.free, end.residual, end.cost);
  const rounding = 16 * EPSILON * dataLength(problem);
  for (let round = 0; round < MOST_STEPS && best.step; round++) {
    const free = best.point.free.map((value, f) => value + (best.step as Float64Array)[f]);
    if (!insideBounds(problem, free)) break;
    const residual = new Float64Array(end.residual.length);
    const cost = problem.evaluate(free, residual);
    if (!(cost <= best.point.cost * (1 + COST_ROUNDING) + rounding * Math.sqrt(best.point.cost))) break;
    const next = linearise(problem, free, residual, cost);
    if (!(next.point.relativeOffset < best.point.relativeOffset)) break;
    const enough = next.point.relativeOffset > 0.9 * best.point.relativeOffset;
    best = next;
    if (enough) break;
  }
  return best.point;
}

function insideBounds(problem: WeightedResiduals, free: Float64Array): boolean {
  const { freeIndex, min, max } = problem.problem;
  return free.every((value, f) => value >= min[freeIndex[f]] && value <= max[freeIndex[f]]);
}

/** Certificate at a point, and the Gauss–Newton step from it (null with deficient rank). */
function linearise(
  problem: WeightedResiduals,
  free: Float64Array,
  residual: Float64Array,
  cost: number,
): { point: Finished; step: Float64Array | null } {
  const { freeIndex, min, max } = problem.problem;
  const columns = Array.from(free, () => new Float64Array(residual.length));
  const finite = problem.jacobian(free, columns, 'fourth-order');
  const states = Array.from(free, (value, f): ParameterState => {
    const pull = dotProduct(columns[f], residual);
    if (value <= min[freeIndex[f]] && !(pull > 0)) return 'at-lower-bound';
    return value >= max[freeIndex[f]] && !(pull < 0) ? 'at-upper-bound' : 'free';
  });
  const none = {
    free,
    residual,
    cost,
    states,
    curvature: null,
    relativeOffset: Number.NaN,
    gradientIsRounding: false,
  };
  if (!finite) return { point: none, step: null };
  const moving = states.flatMap((state, f) => (state === 'free' ? [f] : []));
  const factor = factorQr(moving.map((f) => columns[f].slice()));
  const rotated = residual.slice();
  applyQTransposed(factor, rotated);
  let inside = 0;
  for (let k = 0; k < factor.rank; k++) inside += rotated[k] * rotated[k];
  const step = new Float64Array(free.length);
  solveR(factor, rotated).forEach((change, m) => {
    step[moving[m]] = change;
  });
  const point: Finished = {
    ...none,
    curvature: curvatureFromQr(factor),
    relativeOffset: cost > 0 ? Math.min(1, Math.sqrt(inside / cost)) : 0,
    gradientIsRounding: gradientIsRounding(problem, columns, residual, moving, 16),
  };
  return { point, step: factor.rank === moving.length ? step : null };
}
