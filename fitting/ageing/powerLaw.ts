import type { FitResult, GramModel } from '../least-squares/index.ts';
import { createSeparableSolver, GramProjection } from '../least-squares/index.ts';
import { LawFit } from './lawFit.ts';
import { type AgeingPoints, blockMeans } from './points.ts';
import { roughStart } from './roughStart.ts';

/** Exponents looked at and allowed. */
const LEAST = 0.05;
const MOST = 40;
const GRID = [0.3, 0.8, 2.2, 6, 16].map(Math.log);
/** Blocks for the start: a fit to as many means costs a small part of a pass over all points. */
const BLOCKS = 24;

const shape = {
  linear: [
    { name: 'initial', unit: 'y' },
    { name: 'gain', unit: 'y' },
  ],
  nonlinear: [
    { name: 'logExponent', unit: '1', start: 0, min: Math.log(LEAST), max: Math.log(MOST), maxStep: 0.7 },
  ],
  derivatives: [{ basis: 1, nonlinear: 0 }],
};
const rough = new GramProjection(
  2,
  1,
  shape.derivatives,
  new Float64Array(2).fill(-Infinity),
  new Float64Array(2).fill(Infinity),
);
// The offset is squared in the sum of squares: 1e-4 leaves it within 1e-8 of the least, before the closing step.
const exact = createSeparableSolver(shape, { offsetTolerance: 1e-4 });

/** Natural logarithms of 0, 1, 2 …: cycle numbers are whole, and every series uses the same ones. */
let wholeLogarithms = Float64Array.of(Number.NEGATIVE_INFINITY, 0);

/** ln(x / last), with −1000 at x = 0, where any power of it vanishes. */
function relativeLogarithms(x: Float64Array): Float64Array {
  const last = x[x.length - 1];
  const log = new Float64Array(x.length);
  const lastLog = Math.log(last);
  if (Number.isInteger(last) && last < 1e5 && last >= wholeLogarithms.length) {
    wholeLogarithms = new Float64Array(last + 512).map((_, n) => Math.log(n));
  }
  const table = wholeLogarithms;
  for (let i = 0; i < x.length; i++) {
    const n = x[i];
    const whole = n | 0;
    const logarithm = whole === n && whole < table.length ? table[whole] : Math.log(n);
    log[i] = Math.max(logarithm - lastLog, -1e3);
  }
  return log;
}

/** Columns 1, u^z, ∂u^z/∂ln z = z ln(u) u^z, y − mean with u = x / last. */
class PowerModel implements GramModel {
  readonly points: number;
  private readonly source: AgeingPoints;
  private readonly log: Float64Array;

  constructor(source: AgeingPoints) {
    this.source = source;
    this.points = source.x.length;
    this.log = relativeLogarithms(source.x);
  }

  accumulate(theta: Float64Array, gram: Float64Array): void {
    const { y, weights, offsetY, sums } = this.source;
    const { log } = this;
    const z = Math.exp(theta[0]);
    let f1 = 0;
    let ff = 0;
    let fl = 0;
    let ffl = 0;
    let ffll = 0;
    let fy = 0;
    let fly = 0;
    for (let i = 0; i < log.length; i++) {
      const l = log[i];
      const f = Math.exp(z * l);
      const wf = weights === null ? f : weights[i] * f;
      const g = f * l;
      const d = y[i] - offsetY;
      f1 += wf;
      ff += wf * f;
      fl += wf * l;
      ffl += wf * g;
      ffll += wf * g * l;
      fy += wf * d;
      fly += wf * l * d;
    }
    gram[0] = sums.one;
    gram[1] = f1;
    gram[2] = z * fl;
    gram[3] = sums.d;
    gram[5] = ff;
    gram[6] = z * ffl;
    gram[7] = fy;
    gram[10] = z * z * ffll;
    gram[11] = z * fly;
    gram[15] = sums.dd;
  }
}

class PowerFit extends LawFit {
  readonly name = 'power';
  private readonly initial: number;
  private readonly gain: number;
  private readonly exponent: number;
  private readonly last: number;

  constructor(fit: FitResult, points: AgeingPoints) {
    super(fit);
    this.last = points.x[points.x.length - 1];
    this.initial = fit.parameters[0].value + points.offsetY;
    this.gain = fit.parameters[1].value;
    this.exponent = Math.exp(fit.parameters[2].value);
  }
  value(x: number): number {
    return this.initial + this.gain * (x / this.last) ** this.exponent;
  }
  slope(x: number): number {
    return (this.gain * this.exponent * (x / this.last) ** this.exponent) / x;
  }
  gradient(x: number): number[] {
    const f = (x / this.last) ** this.exponent;
    return [1, f, x > 0 ? this.gain * f * Math.log(x / this.last) * this.exponent : 0];
  }
  published(): [string, number, number[]][] {
    const scale = this.last ** -this.exponent;
    const byLogExponent = -this.gain * scale * Math.log(this.last) * this.exponent;
    return [
      ['initial', this.initial, [1, 0, 0]],
      ['coefficient', this.gain * scale, [0, scale, byLogExponent]],
      ['exponent', this.exponent, [0, 0, this.exponent]],
    ];
  }
}

/**
 * Power law: y = initial + coefficient · x^exponent, initial free.
 *
 * The exponent is sought by its logarithm, first on block means from a grid, then on all points (variable projection).
 * An exponent at the edge of [0.05, 40] is reported as at its bound.
 *
 * @param points at least 4
 * @param nearby an exponent to start from in place of the grid (a fit to almost the same points)
 */
export function fitPower(points: AgeingPoints, nearby: number | null = null): LawFit {
  const start =
    nearby === null
      ? roughStart(rough, [new PowerModel(blockMeans(points, BLOCKS))], GRID).theta
      : Math.log(nearby);
  return new PowerFit(exact.solve(new PowerModel(points), [[start]]), points);
}
