/**
 * Σ yₖ rʲ and Σ j yₖ rʲ over rows `start` to `end`, j counted from 1, into `out[0]` and `out[1]`. Four
 * interleaved chains keep the multiplier from waiting for itself.
 */
export function weightedDecaySums(
  y: Float64Array,
  start: number,
  end: number,
  ratio: number,
  out: Float64Array,
): void {
  const square = ratio * ratio;
  const fourth = square * square;
  let [p0, p1, p2, p3] = [ratio, square, square * ratio, fourth];
  let [a0, a1, a2, a3] = [0, 0, 0, 0];
  let first = 0;
  let k = start;
  let j = 1;
  for (; k + 3 < end; k += 4, j += 4) {
    const v0 = y[k] * p0;
    const v1 = y[k + 1] * p1;
    const v2 = y[k + 2] * p2;
    const v3 = y[k + 3] * p3;
    a0 += v0;
    a1 += v1;
    a2 += v2;
    a3 += v3;
    first += j * (v0 + v1 + v2 + v3) + (v1 + 2 * v2 + 3 * v3);
    p0 *= fourth;
    p1 *= fourth;
    p2 *= fourth;
    p3 *= fourth;
  }
  let sum = a0 + a1 + a2 + a3;
  for (; k < end; k++, j++) {
    const v = y[k] * p0;
    sum += v;
    first += j * v;
    p0 *= ratio;
  }
  out[0] = sum;
  out[1] = first;
}
