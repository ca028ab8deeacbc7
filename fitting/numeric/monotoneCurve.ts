/**
 * A curve through points that keeps their order: between two points it never leaves the range between their
 * values.
 */
export interface MonotoneCurve {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Value at x; held constant beyond the ends. */
  at(x: number): number;
  /** Slope at x; 0 beyond the ends. */
  slopeAt(x: number): number;
  /** True for x between the first and the last point. */
  covers(x: number): boolean;
}

/**
 * Monotone piecewise cubic interpolation (PCHIP): F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5
 * (1984) 300, with the three-point end slopes of F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17
 * (1980) 238.
 *
 * @throws RangeError for fewer than two points, lengths that differ, non-finite values, or x that does not
 *   increase
 */
export function monotoneCurve(x: ArrayLike<number>, y: ArrayLike<number>): MonotoneCurve {
  const n = x.length;
  if (n < 2 || y.length !== n)
    throw new RangeError(`A curve needs two or more points, got ${n} and ${y.length}`);
  for (let i = 0; i < n; i++) {
    if (!Number.isFinite(x[i]) || !Number.isFinite(y[i])) throw new RangeError(`Point ${i} is not finite`);
    if (i > 0 && !(x[i] > x[i - 1])) throw new RangeError(`x[${i}] = ${x[i]} does not increase`);
  }
  const xs = Float64Array.from(x);
  const ys = Float64Array.from(y);
  const slopes = monotoneSlopes(xs, ys);
  const piece = (at: number): number => {
    let low = 0;
    let high = n - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (xs[middle] <= at) low = middle;
      else high = middle;
    }
    return low;
  };
  return {
    x: xs,
    y: ys,
    covers: (at) => at >= xs[0] && at <= xs[n - 1],
    at(at) {
      if (at <= xs[0]) return ys[0];
      if (at >= xs[n - 1]) return ys[n - 1];
      const i = piece(at);
      const h = xs[i + 1] - xs[i];
      const s = (at - xs[i]) / h;
      const [s2, s3] = [s * s, s * s * s];
      return (
        ys[i] * (2 * s3 - 3 * s2 + 1) +
        h * slopes[i] * (s3 - 2 * s2 + s) +
        ys[i + 1] * (3 * s2 - 2 * s3) +
        h * slopes[i + 1] * (s3 - s2)
      );
    },
    slopeAt(at) {
      if (at < xs[0] || at > xs[n - 1]) return 0;
      const i = piece(at);
      const h = xs[i + 1] - xs[i];
      const s = (at - xs[i]) / h;
      return (
        ((ys[i + 1] - ys[i]) / h) * 6 * s * (1 - s) +
        slopes[i] * (3 * s * s - 4 * s + 1) +
        slopes[i + 1] * (3 * s * s - 2 * s)
      );
    },
  };
}

/** Slopes at the points of a monotone piecewise cubic (see `monotoneCurve`); x increases and holds two points or more. */
export function monotoneSlopes(x: Float64Array, y: Float64Array): Float64Array {
  const n = x.length;
  const step = (i: number): number => x[i + 1] - x[i];
  const secant = (i: number): number => (y[i + 1] - y[i]) / step(i);
  const slopes = new Float64Array(n);
  if (n === 2) return slopes.fill(secant(0));
  for (let i = 1; i < n - 1; i++) {
    const [before, after] = [secant(i - 1), secant(i)];
    if (before * after <= 0) continue;
    const [w1, w2] = [2 * step(i) + step(i - 1), step(i) + 2 * step(i - 1)];
    slopes[i] = (w1 + w2) / (w1 / before + w2 / after);
  }
  slopes[0] = endSlope(step(0), step(1), secant(0), secant(1));
  slopes[n - 1] = endSlope(step(n - 2), step(n - 3), secant(n - 2), secant(n - 3));
  return slopes;
}

function endSlope(h0: number, h1: number, d0: number, d1: number): number {
  const slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
  if (slope * d0 <= 0) return 0;
  return d0 * d1 <= 0 && Math.abs(slope) > 3 * Math.abs(d0) ? 3 * d0 : slope;
}
