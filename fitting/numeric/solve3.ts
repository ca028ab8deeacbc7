/**
 * Solves the 3 × 3 system `a x = b` in place by elimination with row exchange; the answer is left in `b`.
 * @returns false where the matrix is singular or not finite.
 */
export function solve3(a: Float64Array, b: Float64Array): boolean {
  for (let column = 0; column < 3; column++) {
    let pivot = column;
    for (let row = column + 1; row < 3; row++)
      if (Math.abs(a[3 * row + column]) > Math.abs(a[3 * pivot + column])) pivot = row;
    const divisor = a[3 * pivot + column];
    if (!(Math.abs(divisor) > 0) || !Number.isFinite(divisor)) return false;
    if (pivot !== column) {
      for (let k = column; k < 3; k++) {
        const kept = a[3 * column + k];
        a[3 * column + k] = a[3 * pivot + k];
        a[3 * pivot + k] = kept;
      }
      const kept = b[column];
      b[column] = b[pivot];
      b[pivot] = kept;
    }
    for (let row = column + 1; row < 3; row++) {
      const factor = a[3 * row + column] / divisor;
      if (factor === 0) continue;
      for (let k = column + 1; k < 3; k++) a[3 * row + k] -= factor * a[3 * column + k];
      b[row] -= factor * b[column];
    }
  }
  for (let row = 2; row >= 0; row--) {
    let sum = b[row];
    for (let k = row + 1; k < 3; k++) sum -= a[3 * row + k] * b[k];
    b[row] = sum / a[4 * row];
  }
  return Number.isFinite(b[0]) && Number.isFinite(b[1]) && Number.isFinite(b[2]);
}
