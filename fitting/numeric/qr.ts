/**
 * Householder QR with column scaling and column pivoting (Golub and Van Loan, Matrix Computations, 5.2 and
 * 5.4).
 *
 * Columns are scaled to unit length first, so the rank decision does not depend on units. A column is counted
 * into the rank while what is left of it after the earlier ones is longer than `rankTolerance`.
 */
export interface QrFactor {
  /** Length of the columns. */
  readonly points: number;
  readonly count: number;
  readonly rank: number;
  /** permutation[position] = index of the column that stands there. */
  readonly permutation: Int32Array;
  /** Lengths of the columns before scaling, by index; 1 for a column of zeros. */
  readonly scale: Float64Array;
  /** By position: reflector below the diagonal, R above; the diagonal of R is in `diagonal`. */
  readonly columns: readonly Float64Array[];
  readonly diagonal: Float64Array;
}

/** Default rank tolerance: columns of unit length are known to about this. */
const DEFAULT_RANK_TOLERANCE = 1e-12;

const lengthOf = (column: Float64Array, from: number): number => {
  let largest = 0;
  for (let i = from; i < column.length; i++) largest = Math.max(largest, Math.abs(column[i]));
  if (largest === 0 || !Number.isFinite(largest)) return largest;
  let sum = 0;
  for (let i = from; i < column.length; i++) sum += (column[i] / largest) * (column[i] / largest);
  return largest * Math.sqrt(sum);
};

/** Applies the reflector of `pivot` (stored from row k on) to `vector` in place. */
function reflect(pivot: Float64Array, k: number, vector: Float64Array): void {
  let product = 0;
  for (let i = k; i < pivot.length; i++) product += pivot[i] * vector[i];
  if (product === 0) return;
  const factor = product / pivot[k];
  for (let i = k; i < pivot.length; i++) vector[i] -= factor * pivot[i];
}

/** Of a squared length this share may go before it is computed from the column again: it has lost four of its sixteen digits then. */
const SHORTENED = 1e-4;
/** Kept lengths hold far better than this; columns as close to the longest are compared by their computed lengths. */
const NEARLY = 1e-6;

/**
 * What is left of the columns while they are factorised. A reflection keeps lengths, so that the squared rest only loses the element that
 * leaves it (G. H. Golub and C. F. Van Loan, Matrix Computations, 5.4.2; from memory). The kept lengths choose who is compared; the longest
 * is chosen by lengths computed from the columns themselves.
 */
class RestLengths {
  private readonly work: readonly Float64Array[];
  /** Squared, by position. */
  private readonly kept: Float64Array;
  /** Squared as last computed from the column. */
  private readonly computed: Float64Array;

  constructor(work: readonly Float64Array[]) {
    this.work = work;
    this.kept = Float64Array.from(work, (column) => lengthOf(column, 0) ** 2);
    this.computed = this.kept.slice();
  }

  /** Position of the longest rest from row and position k on, of nearly equal ones the first, and its length; −1 for no number. */
  longestFrom(k: number): { longest: number; length: number } {
    const { work, kept } = this;
    let most = 0;
    for (let j = k; j < kept.length; j++) if (!(kept[j] <= most)) most = kept[j];
    let longest = k;
    let length = -1;
    for (let j = k; j < kept.length; j++) {
      if (kept[j] < most * (1 - NEARLY)) continue;
      const rest = lengthOf(work[j], k);
      if (rest > length * (1 + 1e-12)) {
        longest = j;
        length = rest;
      }
    }
    return { longest, length };
  }

  swap(a: number, b: number): void {
    for (const values of [this.kept, this.computed]) [values[a], values[b]] = [values[b], values[a]];
  }

  /** The rest of column j after row k has left it. */
  shorten(j: number, k: number): void {
    this.kept[j] -= this.work[j][k] ** 2;
    if (this.kept[j] > SHORTENED * this.computed[j]) return;
    this.computed[j] = lengthOf(this.work[j], k + 1) ** 2;
    this.kept[j] = this.computed[j];
  }
}

/**
 * Factorises the matrix whose columns are given; the columns are **overwritten**.
 *
 * @param columns arrays of one length
 * @param rankTolerance see above
 */
export function factorQr(columns: Float64Array[], rankTolerance = DEFAULT_RANK_TOLERANCE): QrFactor {
  const count = columns.length;
  const points = count > 0 ? columns[0].length : 0;
  const work = [...columns];
  const permutation = Int32Array.from(work, (_, index) => index);
  const scale = new Float64Array(count);
  const diagonal = new Float64Array(count);
  for (let j = 0; j < count; j++) {
    const length = lengthOf(work[j], 0);
    scale[j] = length > 0 ? length : 1;
    for (let i = 0; i < points; i++) work[j][i] /= scale[j];
  }
  const rest = new RestLengths(work);
  let rank = 0;
  for (let k = 0; k < Math.min(count, points); k++) {
    const { longest, length } = rest.longestFrom(k);
    if (!(length > rankTolerance)) break;
    [work[k], work[longest]] = [work[longest], work[k]];
    [permutation[k], permutation[longest]] = [permutation[longest], permutation[k]];
    rest.swap(k, longest);
    const pivot = work[k];
    const signed = pivot[k] > 0 ? length : -length;
    diagonal[k] = -signed;
    for (let i = k; i < points; i++) pivot[i] /= signed;
    pivot[k] += 1;
    for (let j = k + 1; j < count; j++) {
      reflect(pivot, k, work[j]);
      rest.shorten(j, k);
    }
    rank = k + 1;
  }
  return { points, count, rank, permutation, scale, columns: work, diagonal };
}

/** Replaces `vector` by Qᵀ·vector. */
export function applyQTransposed(factor: QrFactor, vector: Float64Array): void {
  for (let k = 0; k < factor.rank; k++) reflect(factor.columns[k], k, vector);
}

/** Replaces `vector` by Q·vector. */
export function applyQ(factor: QrFactor, vector: Float64Array): void {
  for (let k = factor.rank - 1; k >= 0; k--) reflect(factor.columns[k], k, vector);
}

/**
 * Basic solution of R x = (Qᵀb), in the order and scale of the original columns; columns beyond the rank get
 * 0.
 *
 * @param rotated Qᵀb as left by {@link applyQTransposed}
 */
export function solveR(factor: QrFactor, rotated: Float64Array): Float64Array {
  const { rank, columns, diagonal, permutation, scale } = factor;
  const solution = new Float64Array(factor.count);
  for (let k = rank - 1; k >= 0; k--) {
    let sum = rotated[k];
    for (let j = k + 1; j < rank; j++) sum -= columns[j][k] * solution[permutation[j]];
    solution[permutation[k]] = sum / diagonal[k];
  }
  for (let j = 0; j < factor.count; j++) solution[j] /= scale[j];
  return solution;
}

/**
 * z with Rᵀz = the vector (order and scale of the original columns), so that ‖z‖² = vᵀ(JᵀJ)⁻¹v at full rank.
 */
export function solveRTransposed(factor: QrFactor, vector: ArrayLike<number>): Float64Array {
  const { rank, columns, diagonal, permutation, scale } = factor;
  const solution = new Float64Array(rank);
  for (let k = 0; k < rank; k++) {
    let sum = vector[permutation[k]] / scale[permutation[k]];
    for (let i = 0; i < k; i++) sum -= columns[k][i] * solution[i];
    solution[k] = sum / diagonal[k];
  }
  return solution;
}

/** What the curvature JᵀJ of a problem says about its parameters. */
export interface Curvature {
  /** (JᵀJ)⁻¹, row-major; NaN in the rows of parameters that are not identifiable. */
  readonly inverse: Float64Array;
  readonly identifiable: readonly boolean[];
  /** √(‖S‖₁‖S⁻¹‖₁) of the column-scaled JᵀJ; null when rank-deficient. */
  readonly condition: number | null;
  readonly rank: number;
}

/**
 * (JᵀJ)⁻¹ from the factor. With deficient rank the parameters that take part in a null vector are not
 * identifiable; the others keep their variance, computed from the columns inside the rank.
 */
export function curvatureFromQr(factor: QrFactor): Curvature {
  const { count, rank, columns, diagonal, permutation, scale } = factor;
  const rootInverse = new Float64Array(rank * rank);
  for (let j = 0; j < rank; j++) {
    rootInverse[j * rank + j] = 1 / diagonal[j];
    for (let i = j - 1; i >= 0; i--) {
      let sum = 0;
      for (let k = i + 1; k <= j; k++) sum -= columns[k][i] * rootInverse[k * rank + j];
      rootInverse[i * rank + j] = sum / diagonal[i];
    }
  }
  const identifiable = new Array<boolean>(count).fill(true);
  for (let j = rank; j < count; j++) {
    identifiable[permutation[j]] = false;
    // Null vector belonging to this column: R₁₁⁻¹ R₁₂; every column with weight in it is confounded.
    for (let i = 0; i < rank; i++) {
      let weight = 0;
      for (let k = i; k < rank; k++) weight += rootInverse[i * rank + k] * columns[j][k];
      if (Math.abs(weight) > 1e-8) identifiable[permutation[i]] = false;
    }
  }
  const inverse = new Float64Array(count * count).fill(Number.NaN);
  for (let i = 0; i < rank; i++) {
    for (let j = 0; j < rank; j++) {
      const a = permutation[i];
      const b = permutation[j];
      if (!identifiable[a] || !identifiable[b]) continue;
      let sum = 0;
      for (let k = Math.max(i, j); k < rank; k++)
        sum += rootInverse[i * rank + k] * rootInverse[j * rank + k];
      inverse[a * count + b] = sum / (scale[a] * scale[b]);
    }
  }
  return { inverse, identifiable, condition: conditionFromQr(factor, rootInverse), rank };
}

function conditionFromQr(factor: QrFactor, rootInverse: Float64Array): number | null {
  const { count, rank, columns, diagonal } = factor;
  if (rank < count || rank === 0) return null;
  const root = (i: number, j: number): number => (i === j ? diagonal[i] : i < j ? columns[j][i] : 0);
  let forwards = 0;
  let backwards = 0;
  for (let i = 0; i < rank; i++) {
    let forwardsRow = 0;
    let backwardsRow = 0;
    for (let j = 0; j < rank; j++) {
      let product = 0;
      let inverse = 0;
      for (let k = 0; k < rank; k++) {
        product += root(k, i) * root(k, j);
        inverse += rootInverse[i * rank + k] * rootInverse[j * rank + k];
      }
      forwardsRow += Math.abs(product);
      backwardsRow += Math.abs(inverse);
    }
    forwards = Math.max(forwards, forwardsRow);
    backwards = Math.max(backwards, backwardsRow);
  }
  return Math.sqrt(forwards * backwards);
}
