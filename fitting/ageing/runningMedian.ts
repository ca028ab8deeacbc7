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

/** Middle value; of an even number, the mean of the two middle ones. NaN for none. */
export function medianOf(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const half = sorted.length >> 1;
  if (sorted.length === 0) return Number.NaN;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/**
 * Noise of a slowly changing series from its second differences: 1.4826 · median |yᵢ₊₁ − 2yᵢ + yᵢ₋₁| / √6. A slope or a bend over
 * many points does not count as noise. 0 for fewer than three values.
 */
export function noiseOf(values: Float64Array): number {
  if (values.length < 3) return 0;
  const second = new Float64Array(values.length - 2);
  for (let i = 1; i < values.length - 1; i++) {
    second[i - 1] = Math.abs(values[i + 1] - 2 * values[i] + values[i - 1]);
  }
  return (1.4826 * medianOf(second)) / Math.sqrt(6);
}
