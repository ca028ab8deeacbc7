import type { Curvature } from '../../numeric/index.ts';

/**
 * Squared length left of a unit column below which it counts as dependent: half the digits of a Gram matrix.
 */
const DEPENDENT = 1e-13;

/** ALL[n] = n times true, for the usual sizes. */
const ALL: readonly (readonly boolean[])[] = Array.from({ length: 12 }, (_, n) =>
  new Array<boolean>(n).fill(true),
);

/**
 * (JᵀJ)⁻¹ of a full-rank problem from its normal matrix, by Cholesky on the matrix scaled to unit diagonal.
 * Good to about 16 − 2·log₁₀(condition) digits; beyond that use the QR route.
 *
 * @param normal JᵀJ, row-major n×n, overwritten
 * @param inverse n×n work array that becomes part of the answer
 * @param scale work array of n
 * @returns null where a column is dependent on the others or empty: then which parameters are confounded must
 * be found by QR
 */
export function curvatureFromGram(
  normal: Float64Array,
  n: number,
  inverse: Float64Array = new Float64Array(n * n),
  scale: Float64Array = new Float64Array(n),
): Curvature | null {
  for (let i = 0; i < n; i++) {
    scale[i] = Math.sqrt(normal[i * n + i]);
    if (!(scale[i] > 0)) return null;
  }
  const forwards = scaleToUnitDiagonal(normal, n, scale);
  if (!factorise(normal, n)) return null;
  invert(normal, n, inverse);
  let backwards = 0;
  for (let i = 0; i < n; i++) {
    let row = 0;
    for (let j = 0; j < n; j++) {
      const entry = i >= j ? normal[i * n + j] : normal[j * n + i];
      row += Math.abs(entry);
      inverse[i * n + j] = entry / (scale[i] * scale[j]);
    }
    if (row > backwards) backwards = row;
  }
  return {
    inverse,
    identifiable: ALL[n] ?? new Array<boolean>(n).fill(true),
    condition: Math.sqrt(forwards * backwards),
    rank: n,
  };
}

/** Divides rows and columns by `scale`; returns the largest row sum of sizes. */
function scaleToUnitDiagonal(normal: Float64Array, n: number, scale: Float64Array): number {
  let largest = 0;
  for (let i = 0; i < n; i++) {
    let row = 0;
    for (let j = 0; j < n; j++) {
      normal[i * n + j] /= scale[i] * scale[j];
      row += Math.abs(normal[i * n + j]);
    }
    if (row > largest) largest = row;
  }
  return largest;
}

/** Cholesky factor L into the lower triangle; false where a column is dependent. */
function factorise(normal: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = normal[i * n + j];
      for (let k = 0; k < j; k++) sum -= normal[i * n + k] * normal[j * n + k];
      if (i === j) {
        if (!(sum > DEPENDENT)) return false;
        normal[i * n + i] = Math.sqrt(sum);
      } else normal[i * n + j] = sum / normal[j * n + j];
    }
  }
  return true;
}

/** L⁻ᵀL⁻¹ into the lower triangle of `normal`, L⁻¹ into that of `work`. */
function invert(normal: Float64Array, n: number, work: Float64Array): void {
  for (let j = 0; j < n; j++) {
    for (let i = j; i < n; i++) {
      let sum = i === j ? 1 : 0;
      for (let k = j; k < i; k++) sum -= normal[i * n + k] * work[k * n + j];
      work[i * n + j] = sum / normal[i * n + i];
    }
  }
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = i; k < n; k++) sum += work[k * n + i] * work[k * n + j];
      normal[i * n + j] = sum;
    }
  }
}
