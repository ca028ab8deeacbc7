/**
 * Running median with a window of 2·half + 1 points, symmetric everywhere: towards an end the window shrinks, so the first and
 * the last value are themselves and a steep end is not flattened.
 *
 * @param half whole number ≥ 0
 */
export function runningMedian(values: Float64Array, half: number): Float64Array {
  if (!Number.isInteger(half) || half < 0)
    throw new RangeError(`half must be a whole number ≥ 0, got ${half}`);
  const n = values.length;
  const result = new Float64Array(n);
  const window: number[] = [];
  for (let i = 0; i < n; i++) {
    const reach = Math.min(half, i, n - 1 - i);
    window.length = 0;
    for (let j = i - reach; j <= i + reach; j++) insertSorted(window, values[j]);
    result[i] = window[reach];
  }
  return result;
}

function insertSorted(sorted: number[], value: number): void {
  let k = sorted.length;
  sorted.push(value);
  while (k > 0 && sorted[k - 1] > value) {
    sorted[k] = sorted[k - 1];
    k--;
  }
  sorted[k] = value;
}
