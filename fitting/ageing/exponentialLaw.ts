import { GramProjection } from '../least-squares/gramProjection.ts';
import { createSeparableSolver, type GramModel } from '../least-squares/separable.ts';
import type { FitResult } from '../least-squares/types.ts';
import { LawFit } from './lawFit.ts';
import { type AgeingPoints, blockMeans } from './points.ts';
import { roughStart } from './roughStart.ts';

/**
 * Rates looked at and allowed, as multiples of 1 / (range of x). Below the least the curve is a parabola within its range and
 * the scale means nothing; above the most it has bent within a sixtieth of the range.
 */
const LEAST = 0.1;
const MOST = 60;
const GRID = [0.7, 2.5, 8, 25].map(Math.log);
const BLOCKS = 24;

const shape = {
  linear: [
    { name: 'level', unit: 'y' },
    { name: 'tilt', unit: 'y' },
    { name: 'bend', unit: 'y' },
  ],
  nonlinear: [
    { name: 'logRate', unit: '1', start: 1, min: Math.log(LEAST), max: Math.log(MOST), maxStep: 0.8 },
  ],
  derivatives: [{ basis: 2, nonlinear: 0 }],
};
const rough = new GramProjection(
  3,
  1,
  shape.derivatives,
  new Float64Array(3).fill(-Infinity),
  new Float64Array(3).fill(Infinity),
);
// The offset is squared in the sum of squares: 1e-4 leaves it within 1e-8 of the least, before the closing step.
const exact = createSeparableSolver(shape, { offsetTolerance: 1e-4 });

/** Saturating (decay from the first point) or accelerating (growth up to the last one). */
type Sense = 1 | -1;

/**
 * Columns 1, v, φ, ∂φ/∂ln k, y − mean. u runs from 0 to 1 over the range, v = 2u − 1, and φ = exp(−k·d) with d the
 * distance from the first point (`sense` 1) or to the last (`sense` −1), so φ never exceeds 1.
 * On equally spaced x the exponentials follow by one multiplication each; the error grows like the number of points
 * times the machine's rounding.
 */
class ExponentialModel implements GramModel {
  readonly points: number;
  private readonly source: AgeingPoints;
  private readonly sense: Sense;
  private readonly out = new Float64Array(8);

  constructor(source: AgeingPoints, sense: Sense) {
    this.source = source;
    this.sense = sense;
    this.points = source.x.length;
  }

  accumulate(theta: Float64Array, gram: Float64Array): void {
    const { source, sense, out } = this;
    const { x, y, weights, offsetY, spacing, sums } = source;
    const n = x.length;
    const k = Math.exp(theta[0]);
    const perRange = 1 / (x[n - 1] - x[0]);
    if (spacing !== null && weights === null) uniformSums(y, offsetY, sense, spacing * perRange, k, out);
    else generalSums(x, y, weights, offsetY, sense > 0 ? x[0] : x[n - 1], sense * perRange, k, out);
    const f1 = out[0];
    const fu = out[1];
    // v = 2u − 1 = sense·(2·distance − 1); ∂φ/∂ln k = −k·distance·φ.
    gram[0] = sums.one;
    gram[1] = sums.v;
    gram[2] = f1;
    gram[3] = -k * fu;
    gram[4] = sums.d;
    gram[6] = sums.vv;
    gram[7] = sense * (2 * fu - f1);
    gram[8] = -k * sense * (2 * out[2] - fu);
    gram[9] = sums.vd;
    gram[12] = out[5];
    gram[13] = -k * out[6];
    gram[14] = out[3];
    gram[18] = k * k * out[7];
    gram[19] = -k * out[4];
    gram[24] = sums.dd;
  }
}

/** Below this rate the closed forms of the sums lose digits to cancellation. */
const LEAST_CLOSED = 0.5;

/**
 * Σφ, Σφδ, Σφδ², Σφd, Σφδd, Σφ², Σφ²δ, Σφ²δ² with δ the distance, on equally spaced points of equal weight. All but the two
 * with the data d are sums Σ jᵐ rʲ with a closed form, so a pass over the points forms two sums only.
 */
function uniformSums(
  y: Float64Array,
  offsetY: number,
  sense: Sense,
  step: number,
  k: number,
  out: Float64Array,
): void {
  const n = y.length;
  const ratio = Math.exp(-k * step);
  let f = 1;
  let fy = 0;
  let fjy = 0;
  if (sense > 0) {
    for (let j = 0; j < n; j++) {
      const d = f * (y[j] - offsetY);
      fy += d;
      fjy += d * j;
      f *= ratio;
    }
  } else {
    for (let j = 0, i = n - 1; j < n; j++, i--) {
      const d = f * (y[i] - offsetY);
      fy += d;
      fjy += d * j;
      f *= ratio;
    }
  }
  if (k < LEAST_CLOSED) {
    summedPowers(ratio, n, step, out, 0);
    summedPowers(ratio * ratio, n, step, out, 5);
  } else {
    closedPowers(k * step, n, step, out, 0);
    closedPowers(2 * k * step, n, step, out, 5);
  }
  out[3] = fy;
  out[4] = fjy * step;
}

/** Σrʲ, Σ jrʲ·step, Σ j²rʲ·step² over j < n, r = exp(−h): from r·Σ(j + 1)ᵐrʲ = Σjᵐrʲ + nᵐrⁿ, one power after the other. */
function closedPowers(h: number, n: number, step: number, out: Float64Array, at: number): void {
  const r = Math.exp(-h);
  const rest = -Math.expm1(-h);
  const last = Math.exp(-h * n);
  const s0 = -Math.expm1(-h * n) / rest;
  const s1 = (r * s0 - n * last) / rest;
  const s2 = (r * (s0 + 2 * s1) - n * n * last) / rest;
  out[at] = s0;
  out[at + 1] = s1 * step;
  out[at + 2] = s2 * step * step;
}

/** The same three sums term by term. */
function summedPowers(ratio: number, n: number, step: number, out: Float64Array, at: number): void {
  let f = 1;
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  for (let j = 0; j < n; j++) {
    s0 += f;
    s1 += f * j;
    s2 += f * j * j;
    f *= ratio;
  }
  out[at] = s0;
  out[at + 1] = s1 * step;
  out[at + 2] = s2 * step * step;
}

/** The same sums on any x and weights, with one exponential a point. */
function generalSums(
  x: Float64Array,
  y: Float64Array,
  weights: Float64Array | null,
  offsetY: number,
  first: number,
  perRange: number,
  k: number,
  out: Float64Array,
): void {
  out.fill(0);
  for (let i = 0; i < x.length; i++) {
    const distance = (x[i] - first) * perRange;
    const f = Math.exp(-k * distance);
    const wf = weights === null ? f : weights[i] * f;
    const g = wf * distance;
    const d = y[i] - offsetY;
    out[0] += wf;
    out[1] += g;
    out[2] += g * distance;
    out[3] += wf * d;
    out[4] += g * d;
    out[5] += wf * f;
    out[6] += g * f;
    out[7] += g * f * distance;
  }
}

/** Rates of the table of directions: every factor of 1.3 from the least to the most that means can show. */
const TABLE_RATES = Array.from({ length: 20 }, (_, i) => Math.log(0.35 * 1.3 ** i));

/** For a number of equally spaced means: the unit vectors of φ freed of constant and slope, decays first, then growths. */
const directions = new Map<number, Float64Array[]>();

function directionsOf(n: number): Float64Array[] {
  const known = directions.get(n);
  if (known !== undefined) return known;
  const made = [1, -1].flatMap((sense) =>
    TABLE_RATES.map((logRate) => {
      const k = Math.exp(logRate);
      const phi = Float64Array.from({ length: n }, (_, i) => {
        const u = i / (n - 1);
        return Math.exp(-k * (sense > 0 ? u : 1 - u));
      });
      return unitWithoutLine(phi);
    }),
  );
  directions.set(n, made);
  return made;
}

/** Takes constant and slope off values at equally spaced positions and scales to unit length. */
function unitWithoutLine(values: Float64Array): Float64Array {
  const n = values.length;
  const middle = (n - 1) / 2;
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const sxx = (n * (n * n - 1)) / 12;
  const slope = values.reduce((sum, value, i) => sum + value * (i - middle), 0) / sxx;
  const rest = values.map((value, i) => value - mean - slope * (i - middle));
  const length = Math.sqrt(rest.reduce((sum, value) => sum + value * value, 0));
  return rest.map((value) => value / length);
}

/**
 * The rate and sense that take most off the sum of squares of equally spaced means: with a table of unit directions that is the largest
 * product with the data, and a parabola through its neighbours gives the place between two rates.
 */
function tabulatedStart(y: Float64Array): { theta: number; model: number } {
  const table = directionsOf(y.length);
  const gains = new Float64Array(table.length);
  let best = 0;
  for (let t = 0; t < table.length; t++) {
    const direction = table[t];
    let product = 0;
    for (let i = 0; i < y.length; i++) product += direction[i] * (y[i] - y[0]);
    gains[t] = product * product;
    if (gains[t] > gains[best]) best = t;
  }
  const rates = TABLE_RATES.length;
  const r = best % rates;
  let theta = TABLE_RATES[r];
  if (r > 0 && r < rates - 1) {
    const curvature = gains[best - 1] - 2 * gains[best] + gains[best + 1];
    const shift = curvature < 0 ? (gains[best - 1] - gains[best + 1]) / (2 * curvature) : 0;
    theta += shift * (TABLE_RATES[1] - TABLE_RATES[0]);
  }
  return { theta, model: best < rates ? 0 : 1 };
}

class ExponentialLinearFit extends LawFit {
  readonly name = 'exponential-linear';
  private readonly level: number;
  private readonly tilt: number;
  private readonly bend: number;
  private readonly scale: number;
  private readonly first: number;
  private readonly range: number;
  /** φ(x) = exp((origin − x)/scale). */
  private readonly origin: number;

  constructor(fit: FitResult, points: AgeingPoints, sense: Sense) {
    super(fit);
    const { x, offsetY } = points;
    this.first = x[0];
    this.range = x[x.length - 1] - x[0];
    this.level = fit.parameters[0].value + offsetY;
    this.tilt = fit.parameters[1].value;
    this.bend = fit.parameters[2].value;
    this.scale = (sense * this.range) / Math.exp(fit.parameters[3].value);
    this.origin = sense > 0 ? this.first : this.first + this.range;
  }
  private phi(x: number): number {
    return Math.exp((this.origin - x) / this.scale);
  }
  value(x: number): number {
    return this.level + this.tilt * ((2 * (x - this.first)) / this.range - 1) + this.bend * this.phi(x);
  }
  slope(x: number): number {
    return (2 * this.tilt) / this.range - (this.bend * this.phi(x)) / this.scale;
  }
  gradient(x: number): number[] {
    const phi = this.phi(x);
    return [
      1,
      (2 * (x - this.first)) / this.range - 1,
      phi,
      this.bend * phi * ((this.origin - x) / this.scale),
    ];
  }
  published(): [string, number, number[]][] {
    const { level, tilt, bend, scale, first, range, origin } = this;
    const lift = Math.exp(origin / scale);
    const byLogRate = bend * (origin / scale) * lift;
    const atZero = (2 * first) / range + 1;
    return [
      ['initial', level - tilt * atZero + bend * lift, [1, -atZero, lift, byLogRate]],
      ['slope', (2 * tilt) / range, [0, 2 / range, 0, 0]],
      ['amplitude', -bend * lift, [0, 0, -lift, -byLogRate]],
      ['scale', scale, [0, 0, 0, -scale]],
    ];
  }
}

/**
 * Exponential plus linear: y = initial + slope · x + amplitude · (1 − exp(−x / scale)).
 *
 * A positive scale is the saturating form (a fast early loss, or the rise of the first cycles, on top of a steady one); a
 * negative scale is the accelerating form. Both are searched; the one of the smaller sum of squares comes back.
 *
 * @param points at least 5
 * @param nearby a scale to start from in place of the grid
 */
export function fitExponentialLinear(points: AgeingPoints, nearby: number | null = null): LawFit {
  const first = points.x[0];
  const range = points.x[points.x.length - 1] - first;
  let sense: Sense = 1;
  let start = 0;
  if (nearby === null) {
    const means = blockMeans(points, BLOCKS);
    const best =
      means.spacing === null
        ? roughStart(rough, [new ExponentialModel(means, 1), new ExponentialModel(means, -1)], GRID)
        : tabulatedStart(means.y);
    sense = best.model === 0 ? 1 : -1;
    const meansRange = means.x[means.x.length - 1] - means.x[0];
    start = best.theta + Math.log(range / meansRange);
  } else {
    sense = nearby > 0 ? 1 : -1;
    start = Math.log(range / Math.abs(nearby));
  }
  const fit = exact.solve(new ExponentialModel(points, sense), [[start]]);
  return new ExponentialLinearFit(fit, points, sense);
}
