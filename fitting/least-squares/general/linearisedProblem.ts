import { applyQTransposed, dotProduct, factorQr } from '../../numeric/index.ts';
import { dampedSolve } from './dampedSolve.ts';
import { gradientIsRounding } from './gradientRounding.ts';
import type { WeightedResiduals } from './weightedResiduals.ts';

export function scaledLength(scale: ArrayLike<number>, vector: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < vector.length; j++) sum += (scale[j] * vector[j]) ** 2;
  return Math.sqrt(sum);
}

/** A step inside the bounds, its predicted fall relative to S and its scaled length ‖Dδ‖. */
export interface BoundedStep {
  readonly step: Float64Array;
  readonly predicted: number;
  readonly length: number;
}

/**
 * One linearisation r − Jδ, ready to give steps for any radius. J is reduced to its triangular factor once;
 * every step is then a small problem.
 */
export class LinearisedProblem {
  /** ‖P r‖/‖r‖ over the parameters that may move. */
  readonly offset: number;
  /** Every |Jⱼᵀr| is what rounding of the data alone would give. */
  readonly gradientIsRounding: boolean;
  private readonly free: Float64Array;
  private readonly scale: readonly number[];
  private readonly low: Float64Array;
  private readonly high: Float64Array;
  private readonly gradient: Float64Array;
  private readonly cost: number;
  /** Free parameters that are not held at a bound; `small` are their columns of R, `right` is Qᵀr. */
  private readonly movable: readonly number[];
  private readonly small: readonly Float64Array[];
  private readonly right: Float64Array;

  /**
   * @param columns weighted Jacobian columns of the free parameters (kept)
   * @param scale the diagonal of D
   */
  constructor(
    residuals: WeightedResiduals,
    columns: readonly Float64Array[],
    residual: Float64Array,
    free: Float64Array,
    scale: readonly number[],
  ) {
    const problem = residuals.problem;
    this.free = free;
    this.scale = scale;
    const low = Float64Array.from(problem.freeIndex, (index) => problem.min[index]);
    const high = Float64Array.from(problem.freeIndex, (index) => problem.max[index]);
    const gradient = Float64Array.from(columns, (column) => dotProduct(column, residual));
    this.low = low;
    this.high = high;
    this.gradient = gradient;
    this.cost = dotProduct(residual, residual);
    this.movable = columns.flatMap((_, f) => {
      const held = (free[f] <= low[f] && gradient[f] < 0) || (free[f] >= high[f] && gradient[f] > 0);
      return held ? [] : [f];
    });
    const factor = factorQr(this.movable.map((f) => columns[f].slice()));
    const rotated = residual.slice();
    applyQTransposed(factor, rotated);
    const size = Math.min(factor.count, factor.points);
    this.small = this.movable.map((_, m) => smallColumn(factor, m, size));
    this.right = rotated.slice(0, size);
    let inside = 0;
    for (let k = 0; k < factor.rank; k++) inside += rotated[k] * rotated[k];
    this.offset = this.cost > 0 ? Math.sqrt(Math.min(1, inside / this.cost)) : 0;
    this.gradientIsRounding = gradientIsRounding(residuals, columns, residual, this.movable, 4);
  }

  /** Derivative of S/2 along the step at its beginning, relative to S: negative for a descent. */
  slope(step: Float64Array): number {
    return -dotProduct(this.gradient, step) / this.cost;
  }

  /** Pulls the values inside the bounds, in place. */
  clamp(values: Float64Array): Float64Array {
    for (let f = 0; f < values.length; f++)
      values[f] = Math.min(Math.max(values[f], this.low[f]), this.high[f]);
    return values;
  }

  /**
   * The step with ‖Dδ‖ ≤ radius (within a tenth), inside the bounds: what it would carry across first is held
   * at its bound, and the rest is solved again.
   */
  stepWithin(radius: number): BoundedStep {
    const { movable, small, right, scale } = this;
    const step = new Float64Array(this.free.length);
    const target = right.slice();
    let rest = movable.map((_, m) => m);
    while (rest.length > 0) {
      const part = dampedSolve(
        rest.map((m) => small[m]),
        target,
        rest.map((m) => scale[movable[m]]),
        radius,
      );
      const meets = this.firstAcross(rest, part);
      if (meets < 0) {
        rest.forEach((m, r) => {
          step[movable[m]] = part[r];
        });
        break;
      }
      const f = movable[rest[meets]];
      step[f] = (part[meets] < 0 ? this.low[f] : this.high[f]) - this.free[f];
      const column = small[rest[meets]];
      for (let i = 0; i < target.length; i++) target[i] -= column[i] * step[f];
      rest = rest.filter((_, r) => r !== meets);
    }
    const left = right.slice();
    movable.forEach((f, m) => {
      for (let i = 0; i < left.length; i++) left[i] -= small[m][i] * step[f];
    });
    const predicted = (dotProduct(right, right) - dotProduct(left, left)) / this.cost;
    return { step, predicted, length: scaledLength(scale, step) };
  }

  /** Which of the parameters left reaches its bound first along the step; −1 for none. */
  private firstAcross(rest: readonly number[], part: Float64Array): number {
    let found = -1;
    let least = 1;
    rest.forEach((m, r) => {
      const f = this.movable[m];
      const at = this.free[f];
      const target = at + part[r];
      if (target >= this.low[f] && target <= this.high[f]) return;
      const reach = ((part[r] < 0 ? this.low[f] : this.high[f]) - at) / part[r];
      if (found < 0 || reach < least) {
        found = r;
        least = reach;
      }
    });
    return found;
  }
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
