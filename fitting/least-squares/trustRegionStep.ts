import type { CheckedProblem } from './checkProblem.ts';
import { applyQTransposed, factorQr, solveR, solveRTransposed } from './qr.ts';

const EPSILON = 2.220446049250313e-16;

/** One linearisation, ready to give steps for any radius. */
export interface StepSolver {
  /** ‖P r‖/‖r‖ over the parameters that may move. */
  readonly offset: number;
  /** Every |Jⱼᵀr| is what rounding of the data alone would give. */
  readonly gradientIsRounding: boolean;
  /** The step with ‖Dδ‖ ≤ radius (within a tenth), inside the bounds; `predicted` is relative to S. */
  within(radius: number): {
    readonly step: Float64Array;
    readonly predicted: number;
    readonly length: number;
  };
  /** Derivative of S/2 along the step at its beginning, relative to S: negative for a descent. */
  slope(step: Float64Array): number;
  /** Pulls the values inside the bounds, in place. */
  clamp(free: Float64Array): Float64Array;
}

export function scaledLength(scale: ArrayLike<number>, vector: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < vector.length; j++) sum += (scale[j] * vector[j]) ** 2;
  return Math.sqrt(sum);
}

/**
 * Reduces J to its triangular factor once; every step is then a small problem.
 *
 * @param columns weighted Jacobian columns of the free parameters (kept)
 * @param scale the diagonal of D
 */
export function boundedDampedStep(
  problem: CheckedProblem,
  columns: readonly Float64Array[],
  residual: Float64Array,
  free: Float64Array,
  scale: readonly number[],
): StepSolver {
  const low = Float64Array.from(problem.freeIndex, (index) => problem.min[index]);
  const high = Float64Array.from(problem.freeIndex, (index) => problem.max[index]);
  const gradient = Float64Array.from(columns, (column) => product(column, residual));
  const movable = columns.flatMap((_, f) => {
    const held = (free[f] <= low[f] && gradient[f] < 0) || (free[f] >= high[f] && gradient[f] > 0);
    return held ? [] : [f];
  });
  const cost = product(residual, residual);
  const factor = factorQr(movable.map((f) => columns[f].slice()));
  const rotated = residual.slice();
  applyQTransposed(factor, rotated);
  const size = Math.min(factor.count, factor.points);
  const small = movable.map((_, m) => smallColumn(factor, m, size));
  const right = rotated.slice(0, size);
  let inside = 0;
  for (let k = 0; k < factor.rank; k++) inside += right[k] * right[k];
  const slope = (step: Float64Array): number => -product(gradient, step) / cost;
  return {
    offset: cost > 0 ? Math.sqrt(Math.min(1, inside / cost)) : 0,
    gradientIsRounding: isRounding(problem, columns, gradient, movable),
    slope,
    clamp: (values) => {
      for (let f = 0; f < values.length; f++) values[f] = Math.min(Math.max(values[f], low[f]), high[f]);
      return values;
    },
    within: (radius) => {
      const step = new Float64Array(free.length);
      let rest = movable.map((_, m) => m);
      const target = right.slice();
      while (rest.length > 0) {
        const D = rest.map((m) => scale[movable[m]]);
        const part = dampedSolve(
          rest.map((m) => small[m]),
          target,
          D,
          radius,
        );
        const meets = firstAcross(rest, movable, part, free, low, high);
        if (meets < 0) {
          rest.forEach((m, r) => {
            step[movable[m]] = part[r];
          });
          break;
        }
        const f = movable[rest[meets]];
        step[f] = (part[meets] < 0 ? low[f] : high[f]) - free[f];
        const column = small[rest[meets]];
        for (let i = 0; i < size; i++) target[i] -= column[i] * step[f];
        rest = rest.filter((_, r) => r !== meets);
      }
      let predicted = product(right, right);
      const left = right.slice();
      movable.forEach((f, m) => {
        for (let i = 0; i < size; i++) left[i] -= small[m][i] * step[f];
      });
      predicted -= product(left, left);
      return { step, predicted: predicted / cost, length: scaledLength(scale, step) };
    },
  };
}

function product(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

/** Column of R·(column scale) that belongs to the m-th column factorised. */
function smallColumn(factor: ReturnType<typeof factorQr>, m: number, size: number): Float64Array {
  const column = new Float64Array(size);
  const position = factor.permutation.indexOf(m);
  for (let i = 0; i < Math.min(position, factor.rank); i++)
    column[i] = factor.columns[position][i] * factor.scale[m];
  if (position < factor.rank) column[position] = factor.diagonal[position] * factor.scale[m];
  return column;
}

function isRounding(
  problem: CheckedProblem,
  columns: readonly Float64Array[],
  gradient: Float64Array,
  movable: readonly number[],
): boolean {
  let data = 0;
  problem.y.forEach((value, i) => {
    if (problem.weights[i] > 0) data += problem.weights[i] * value * value;
  });
  return movable.every((f) => {
    const length = Math.sqrt(product(columns[f], columns[f]));
    return Math.abs(gradient[f]) <= 4 * EPSILON * length * Math.sqrt(data);
  });
}

function firstAcross(
  rest: readonly number[],
  movable: readonly number[],
  part: Float64Array,
  free: Float64Array,
  low: Float64Array,
  high: Float64Array,
): number {
  let found = -1;
  let least = 1;
  rest.forEach((m, r) => {
    const f = movable[m];
    const target = free[f] + part[r];
    if (target >= low[f] && target <= high[f]) return;
    const reach = ((part[r] < 0 ? low[f] : high[f]) - free[f]) / part[r];
    if (found < 0 || reach < least) {
      found = r;
      least = reach;
    }
  });
  return found;
}

/** min ‖b − Aδ‖ with ‖Dδ‖ ≤ radius to a tenth: Moré's safeguarded Newton iteration on the damping (his algorithm 5.5). */
function dampedSolve(
  matrix: readonly Float64Array[],
  right: Float64Array,
  D: readonly number[],
  radius: number,
): Float64Array {
  const n = matrix.length;
  const size = right.length;
  const solve = (damping: number) => {
    const stacked = matrix.map((column, j) => {
      const longer = new Float64Array(size + n);
      longer.set(column);
      longer[size + j] = Math.sqrt(damping) * D[j];
      return longer;
    });
    const factor = factorQr(stacked, damping > 0 ? 0 : 1e-14);
    const target = new Float64Array(size + n);
    target.set(right);
    applyQTransposed(factor, target);
    const step = solveR(factor, target);
    const length = scaledLength(D, step);
    const direction = step.map((value, j) => (D[j] * D[j] * value) / (length || 1));
    const back = solveRTransposed(factor, direction);
    return { step, excess: length - radius, curvature: product(back, back), full: factor.rank === n };
  };
  let now = solve(0);
  if (now.excess <= 0.1 * radius) return now.step;
  let lower = now.full ? now.excess / (radius * now.curvature) : 0;
  let pull = 0;
  for (let j = 0; j < n; j++) pull += (product(matrix[j], right) / D[j]) ** 2;
  let upper = Math.sqrt(pull) / radius || Number.MIN_VALUE / Math.min(radius, 0.1);
  let damping = lower > 0 ? lower : 0.001 * upper;
  for (let round = 0; round < 12; round++) {
    damping = Math.min(Math.max(damping, lower, Number.MIN_VALUE), upper);
    now = solve(damping);
    if (
      Math.abs(now.excess) <= 0.1 * radius ||
      (lower === 0 && now.excess < 0 && damping <= Number.MIN_VALUE)
    )
      break;
    if (now.excess > 0) lower = Math.max(lower, damping);
    else upper = Math.min(upper, damping);
    damping = Math.max(lower, damping + now.excess / (radius * now.curvature));
  }
  return now.step;
}
