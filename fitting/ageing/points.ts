/** Points of one ageing series, ready for the fits: x rising, both finite. */
export interface AgeingPoints {
  /** Cycles, equivalent full cycles, Ah or days; ≥ 0 and strictly rising. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Weights (1/σ² up to a common factor), all positive; null: all 1. */
  readonly weights: Float64Array | null;
  /** A value in the midst of the y: taken off before sums of squares are formed, so that they keep their digits. */
  readonly offsetY: number;
  /** The common distance of the x, or null where they are not equally spaced. */
  readonly spacing: number | null;
  /** Weighted sums over v = 2 (x − x₀)/(range) − 1 and d = y − offsetY, shared by the models. */
  readonly sums: PointSums;
}

/** Σw, Σwv, Σwv², Σwd, Σwvd, Σwd². */
export interface PointSums {
  readonly one: number;
  readonly v: number;
  readonly vv: number;
  readonly d: number;
  readonly vd: number;
  readonly dd: number;
}

/** How far, relative to the spacing, an x may lie off an equally spaced grid that still counts as one. */
const GRID_TOLERANCE = 1e-9;

/**
 * Checks a series once and prepares what every model needs.
 *
 * @param x strictly rising, ≥ 0
 * @param y same length, finite
 * @param weights same length, positive; default all 1
 * @throws RangeError naming the index of the offending value
 */
export function ageingPoints(
  x: Float64Array,
  y: Float64Array,
  weights: Float64Array | null = null,
): AgeingPoints {
  const n = x.length;
  if (y.length !== n) throw new RangeError(`y holds ${y.length} values and x ${n}: they must be as many`);
  if (weights !== null && weights.length !== n) {
    throw new RangeError(`weights holds ${weights.length} values and x ${n}: they must be as many`);
  }
  const step = n > 1 ? (x[n - 1] - x[0]) / (n - 1) : 0;
  let uniform = step > 0;
  const tolerance = GRID_TOLERANCE * step * n;
  const first = x[0];
  let expected = first;
  let before = -1;
  for (let i = 0; i < n; i++) {
    const here = x[i];
    // One comparison for the usual case; which rule was broken is found out only then.
    if (!(here > before && here < Infinity && y[i] - y[i] === 0 && (weights === null || weights[i] > 0))) {
      throw new RangeError(describeOffence(x, y, weights, i));
    }
    if (Math.abs(here - expected) > tolerance) uniform = false;
    expected += step;
    before = here;
  }
  const total = weights === null ? n : weights.reduce((sum, w) => sum + w, 0);
  if (!Number.isFinite(total)) throw new RangeError('weights must be finite');
  const offset = n > 0 ? (y[0] + y[n >> 1] + y[n - 1]) / 3 : 0;
  return {
    x,
    y,
    weights,
    offsetY: offset,
    spacing: uniform ? step : null,
    sums: sumsOf(x, y, weights, offset),
  };
}

function describeOffence(x: Float64Array, y: Float64Array, weights: Float64Array | null, i: number): string {
  if (!(x[i] >= 0 && x[i] < Infinity)) return `x[${i}] is ${x[i]}: it must be finite and not negative`;
  if (!Number.isFinite(y[i])) return `y[${i}] is ${y[i]}: it must be finite`;
  if (weights !== null && !(weights[i] > 0 && weights[i] < Infinity))
    return `weights[${i}] is ${weights[i]}: it must be positive`;
  return `x[${i}] = ${x[i]} does not lie above x[${i - 1}] = ${x[i - 1]}`;
}

function sumsOf(x: Float64Array, y: Float64Array, weights: Float64Array | null, offsetY: number): PointSums {
  const n = x.length;
  const perRange = n > 1 ? 2 / (x[n - 1] - x[0]) : 0;
  let one = 0;
  let sv = 0;
  let svv = 0;
  let sd = 0;
  let svd = 0;
  let sdd = 0;
  for (let i = 0; i < n; i++) {
    const w = weights === null ? 1 : weights[i];
    const v = (x[i] - x[0]) * perRange - 1;
    const d = y[i] - offsetY;
    const wd = w * d;
    one += w;
    sv += w * v;
    svv += w * v * v;
    sd += wd;
    svd += v * wd;
    sdd += wd * d;
  }
  return { one, v: sv, vv: svv, d: sd, vd: svd, dd: sdd };
}

/** The points with x in [from, to]; weights go along. */
export function pointsBetween(points: AgeingPoints, from: number, to: number): AgeingPoints {
  const { x, y, weights } = points;
  let start = 0;
  while (start < x.length && x[start] < from) start++;
  let end = x.length;
  while (end > start && x[end - 1] > to) end--;
  return ageingPoints(x.subarray(start, end), y.subarray(start, end), weights?.subarray(start, end) ?? null);
}

/**
 * Means over at most `blocks` groups of equally many neighbouring points, to find a start on: a fit to them costs a
 * fraction of a pass over all points. The last points that fill no group are left off.
 */
export function blockMeans(points: AgeingPoints, blocks: number): AgeingPoints {
  const { x, y, weights } = points;
  const size = Math.max(1, Math.floor(x.length / blocks));
  if (size === 1) return points;
  const count = Math.floor(x.length / size);
  const meanX = new Float64Array(count);
  const means = new Float64Array(count);
  let sum = 0;
  for (let b = 0; b < count; b++) {
    let sx = 0;
    let sy = 0;
    let sw = 0;
    for (let i = b * size; i < (b + 1) * size; i++) {
      const weight = weights === null ? 1 : weights[i];
      sx += weight * x[i];
      sy += weight * y[i];
      sw += weight;
    }
    meanX[b] = sx / sw;
    means[b] = sy / sw;
    sum += means[b];
  }
  const spacing = points.spacing !== null && weights === null ? points.spacing * size : null;
  const mean = sum / count;
  return {
    x: meanX,
    y: means,
    weights: null,
    offsetY: mean,
    spacing,
    sums: sumsOf(meanX, means, null, mean),
  };
}
