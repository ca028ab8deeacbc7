import type { FitResult, GramModel } from '../least-squares/index.ts';
import { createSeparableSolver, GramProjection } from '../least-squares/index.ts';
import { type ExponentialStart, exponentialStarts } from './exponentialStart.ts';
import { generalSums, type Sense, uniformSums } from './exponentialSums.ts';
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
const exact = createSeparableSolver(shape, { offsetTolerance: 1e-4 });

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
 * negative scale is the accelerating form. Both are searched; the one of the smaller sum of squares comes back. On equally
 * spaced points of equal weight both are also fitted to the end where noise leaves open which one it is.
 *
 * @param points at least 5
 * @param nearby a scale to start from in place of the grid
 */
export function fitExponentialLinear(points: AgeingPoints, nearby: number | null = null): LawFit {
  const starts = startsOf(points, nearby);
  const fit = fitFrom(points, starts[0]);
  if (starts.length === 1) return fit;
  const other = fitFrom(points, starts[1]);
  return other.residualSumOfSquares < fit.residualSumOfSquares ? other : fit;
}

type Start = Pick<ExponentialStart, 'sense' | 'logRate'>;

function fitFrom(points: AgeingPoints, { sense, logRate }: Start): LawFit {
  return new ExponentialLinearFit(
    exact.solve(new ExponentialModel(points, sense), [[logRate]]),
    points,
    sense,
  );
}

function startsOf(points: AgeingPoints, nearby: number | null): readonly Start[] {
  const { x, spacing, weights } = points;
  const range = x[x.length - 1] - x[0];
  if (nearby !== null) return [{ sense: nearby > 0 ? 1 : -1, logRate: Math.log(range / Math.abs(nearby)) }];
  if (spacing !== null && weights === null) return exponentialStarts(points);
  const means = blockMeans(points, BLOCKS);
  const best = roughStart(rough, [new ExponentialModel(means, 1), new ExponentialModel(means, -1)], GRID);
  const meansRange = means.x[means.x.length - 1] - means.x[0];
  return [{ sense: best.model === 0 ? 1 : -1, logRate: best.theta + Math.log(range / meansRange) }];
}
