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

/** How far, relative to the range, an x may lie off an equally spaced grid that still counts as one. */
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
  const offsetY = n > 0 ? (y[0] + y[n >> 1] + y[n - 1]) / 3 : 0;
  return checkedAndSummed(x, y, weights, offsetY);
}

/**
 * Checks, looks for equal spacing and forms the sums in one pass over x and y: a forecast makes hundreds of fits, and each
 * of them starts here. Weights, which few series have, take a pass of their own.
 */
function checkedAndSummed(
  x: Float64Array,
  y: Float64Array,
  weights: Float64Array | null,
  offsetY: number,
): AgeingPoints {
  const n = x.length;
  const first = x[0];
  const range = n > 1 ? x[n - 1] - first : 0;
  const step = n > 1 ? range / (n - 1) : 0;
  const perRange = n > 1 ? 2 / range : 0;
  const tolerance = GRID_TOLERANCE * range;
  let uniform = step > 0;
  let expected = first;
  // What lies above it is 0 or more.
  let before = -Number.MIN_VALUE;
  let sv = 0;
  let svv = 0;
  let sd = 0;
  let svd = 0;
  let sdd = 0;
  for (let i = 0; i < n; i++) {
    const here = x[i];
    if (!(here > before)) throw new RangeError(firstOffence(x, y, weights));
    if (Math.abs(here - expected) > tolerance) uniform = false;
    expected += step;
    before = here;
    const v = (here - first) * perRange - 1;
    const d = y[i] - offsetY;
    sv += v;
    svv += v * v;
    sd += d;
    svd += v * d;
    sdd += d * d;
  }
  // What is not finite shows in a sum: x in Σv², y in Σd². Finite values so large that a square overflows are let through.
  if (!(svv < Infinity && sdd < Infinity)) {
    const offence = firstOffence(x, y, weights);
    if (offence !== '') throw new RangeError(offence);
  }
  const plain = { one: n, v: sv, vv: svv, d: sd, vd: svd, dd: sdd };
  const sums = weights === null ? plain : weightedSums(x, y, weights, offsetY);
  return { x, y, weights, offsetY, spacing: uniform ? step : null, sums };
}

function weightedSums(x: Float64Array, y: Float64Array, weights: Float64Array, offsetY: number): PointSums {
  const n = x.length;
  const perRange = n > 1 ? 2 / (x[n - 1] - x[0]) : 0;
  const sums = { one: 0, v: 0, vv: 0, d: 0, vd: 0, dd: 0 };
  for (let i = 0; i < n; i++) {
    const w = weights[i];
    if (!(w > 0)) throw new RangeError(firstOffence(x, y, weights));
    const v = (x[i] - x[0]) * perRange - 1;
    const d = y[i] - offsetY;
    sums.one += w;
    sums.v += w * v;
    sums.vv += w * v * v;
    sums.d += w * d;
    sums.vd += w * v * d;
    sums.dd += w * d * d;
  }
  if (!(sums.one < Infinity)) {
    throw new RangeError(firstOffence(x, y, weights) || 'weights must add up to a finite number');
  }
  return sums;
}

/** What is wrong at the first point that breaks a rule; empty where none does. */
function firstOffence(x: Float64Array, y: Float64Array, weights: Float64Array | null): string {
  for (let i = 0; i < x.length; i++) {
    if (!(x[i] >= 0 && x[i] < Infinity)) return `x[${i}] is ${x[i]}: it must be finite and not negative`;
    if (!Number.isFinite(y[i])) return `y[${i}] is ${y[i]}: it must be finite`;
    if (weights !== null && !(weights[i] > 0 && weights[i] < Infinity))
      return `weights[${i}] is ${weights[i]}: it must be positive and finite`;
    if (i > 0 && !(x[i] > x[i - 1])) return `x[${i}] = ${x[i]} does not lie above x[${i - 1}] = ${x[i - 1]}`;
  }
  return '';
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
  return checkedAndSummed(meanX, means, null, sum / count);
}
