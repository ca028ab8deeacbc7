import { dotProduct } from '../../numeric/index.ts';
import type { WeightedResiduals } from './weightedResiduals.ts';

const EPSILON = 2.220446049250313e-16;

/** ‖√w y‖: what the rounding of the residuals is measured against. */
export function dataLength(problem: WeightedResiduals): number {
  const { y } = problem.problem;
  let sum = 0;
  for (let i = 0; i < y.length; i++) sum += problem.root[i] === 0 ? 0 : (problem.root[i] * y[i]) ** 2;
  return Math.sqrt(sum);
}

/**
 * Whether every |Jⱼᵀr| of the parameters that may move is within `units` roundings of what the data alone
 * could give.
 */
export function gradientIsRounding(
  problem: WeightedResiduals,
  columns: readonly Float64Array[],
  residual: Float64Array,
  moving: readonly number[],
  units: number,
): boolean {
  const limit = units * EPSILON * dataLength(problem);
  return moving.every((f) => {
    const length = Math.sqrt(dotProduct(columns[f], columns[f]));
    return Math.abs(dotProduct(columns[f], residual)) <= limit * length;
  });
}
