import { applyQTransposed, dotProduct, factorQr, solveR, solveRTransposed } from '../../numeric/index.ts';

const MOST_ROUNDS = 12;

/**
 * Minimises ‖b − Aδ‖ with ‖Dδ‖ ≤ radius, met within a tenth: Moré's safeguarded Newton iteration on the
 * damping (his algorithm 5.5), each trial by QR of A stacked on √λ D.
 *
 * @param matrix columns of A
 * @param D diagonal of the scaling
 */
export function dampedSolve(
  matrix: readonly Float64Array[],
  right: Float64Array,
  D: readonly number[],
  radius: number,
): Float64Array {
  let now = solveDamped(matrix, right, D, 0);
  if (now.length <= 1.1 * radius) return now.step;
  let lower = now.hasFullRank ? (now.length - radius) / (radius * now.curvature) : 0;
  let pull = 0;
  for (let j = 0; j < matrix.length; j++) pull += (dotProduct(matrix[j], right) / D[j]) ** 2;
  let upper = Math.sqrt(pull) / radius || Number.MIN_VALUE / Math.min(radius, 0.1);
  let damping = lower > 0 ? lower : 0.001 * upper;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    damping = Math.min(Math.max(damping, lower, Number.MIN_VALUE), upper);
    now = solveDamped(matrix, right, D, damping);
    const excess = now.length - radius;
    const noDamping = lower === 0 && excess < 0 && damping <= Number.MIN_VALUE;
    if (Math.abs(excess) <= 0.1 * radius || noDamping) break;
    if (excess > 0) lower = Math.max(lower, damping);
    else upper = Math.min(upper, damping);
    damping = Math.max(lower, damping + excess / (radius * now.curvature));
  }
  return now.step;
}

interface DampedStep {
  readonly step: Float64Array;
  /** ‖Dδ‖. */
  readonly length: number;
  /** Minus the derivative of ‖Dδ‖ by λ, over ‖Dδ‖. */
  readonly curvature: number;
  readonly hasFullRank: boolean;
}

function solveDamped(
  matrix: readonly Float64Array[],
  right: Float64Array,
  D: readonly number[],
  damping: number,
): DampedStep {
  const n = matrix.length;
  const size = right.length;
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
  let square = 0;
  for (let j = 0; j < n; j++) square += (D[j] * step[j]) ** 2;
  const length = Math.sqrt(square);
  const direction = step.map((value, j) => (D[j] * D[j] * value) / (length || 1));
  const back = solveRTransposed(factor, direction);
  return { step, length, curvature: dotProduct(back, back), hasFullRank: factor.rank === n };
}
