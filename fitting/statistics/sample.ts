/** @throws RangeError for fewer than `fewest` values, or naming the first that is not finite */
export function checkSample(values: ArrayLike<number>, fewest: number, name = 'values'): void {
  if (values.length < fewest)
    throw new RangeError(`${name} holds ${values.length} values, at least ${fewest} are needed`);
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i])) throw new RangeError(`${name}[${i}] is ${values[i]}: it must be finite`);
  }
}

/** Arithmetic mean, with one correction pass against rounding. @throws RangeError when empty or not finite */
export function mean(values: ArrayLike<number>): number {
  checkSample(values, 1);
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  const first = sum / values.length;
  let rest = 0;
  for (let i = 0; i < values.length; i++) rest += values[i] - first;
  return first + rest / values.length;
}

/**
 * Sample standard deviation, divisor n − 1, by the corrected two-pass sum. @throws RangeError for fewer than
 * 2 values
 */
export function standardDeviation(values: ArrayLike<number>): number {
  checkSample(values, 2);
  const centre = mean(values);
  let square = 0;
  let rest = 0;
  for (let i = 0; i < values.length; i++) {
    const d = values[i] - centre;
    square += d * d;
    rest += d;
  }
  return Math.sqrt(Math.max(0, square - (rest * rest) / values.length) / (values.length - 1));
}

/**
 * Quantile of a sorted, non-empty sample (unchecked) by linear interpolation of the order statistics (type 7 of
 * Hyndman and Fan, Am. Stat. 50 (1996) 361; the default of R and NumPy).
 */
export function quantileSorted(sorted: ArrayLike<number>, p: number): number {
  const at = p * (sorted.length - 1);
  const below = Math.floor(at);
  const above = Math.min(below + 1, sorted.length - 1);
  return sorted[below] + (at - below) * (sorted[above] - sorted[below]);
}
