import type { FitResult, GramModel } from '../least-squares/index.ts';
import { createSeparableSolver } from '../least-squares/index.ts';
import { LawFit } from './lawFit.ts';
import type { AgeingPoints } from './points.ts';

const solver = createSeparableSolver({
  linear: [
    { name: 'level', unit: 'y' },
    { name: 'gain', unit: 'y' },
  ],
  nonlinear: [],
  derivatives: [],
});

/** Columns 1, v = 2 (x − x₀)/range − 1, y − mean: nothing but the sums the points carry. */
class LineModel implements GramModel {
  readonly points: number;
  private readonly source: AgeingPoints;

  constructor(source: AgeingPoints) {
    this.source = source;
    this.points = source.x.length;
  }

  accumulate(_: Float64Array, gram: Float64Array): void {
    const { sums } = this.source;
    gram[0] = sums.one;
    gram[1] = sums.v;
    gram[2] = sums.d;
    gram[4] = sums.vv;
    gram[5] = sums.vd;
    gram[8] = sums.dd;
  }
}

/** Columns 1, √(x/last), y − mean. */
class RootModel implements GramModel {
  readonly points: number;
  private readonly source: AgeingPoints;

  constructor(source: AgeingPoints) {
    this.source = source;
    this.points = source.x.length;
  }

  accumulate(_: Float64Array, gram: Float64Array): void {
    const { x, y, weights, offsetY, sums } = this.source;
    const perLast = 1 / x[x.length - 1];
    let f1 = 0;
    let fy = 0;
    let ff = 0;
    for (let i = 0; i < x.length; i++) {
      const u = x[i] * perLast;
      const f = Math.sqrt(u);
      const w = weights === null ? 1 : weights[i];
      f1 += w * f;
      ff += w * u;
      fy += w * f * (y[i] - offsetY);
    }
    gram[0] = sums.one;
    gram[1] = f1;
    gram[2] = sums.d;
    gram[4] = ff;
    gram[5] = fy;
    gram[8] = sums.dd;
  }
}

class LinearFit extends LawFit {
  readonly name = 'linear';
  private readonly initial: number;
  private readonly rise: number;
  private readonly first: number;
  private readonly perRange: number;

  constructor(fit: FitResult, points: AgeingPoints) {
    super(fit);
    const { x, offsetY } = points;
    this.first = x[0];
    this.perRange = 2 / (x[x.length - 1] - x[0]);
    this.rise = fit.parameters[1].value * this.perRange;
    this.initial = fit.parameters[0].value + offsetY - fit.parameters[1].value - this.rise * this.first;
  }
  value(x: number): number {
    return this.initial + this.rise * x;
  }
  slope(): number {
    return this.rise;
  }
  gradient(x: number): number[] {
    return [1, (x - this.first) * this.perRange - 1];
  }
  published(): [string, number, number[]][] {
    return [
      ['initial', this.initial, [1, -1 - this.first * this.perRange]],
      ['slope', this.rise, [0, this.perRange]],
    ];
  }
}

class SquareRootFit extends LawFit {
  readonly name = 'square-root';
  private readonly initial: number;
  private readonly coefficient: number;
  private readonly root: number;

  constructor(fit: FitResult, points: AgeingPoints) {
    super(fit);
    this.root = Math.sqrt(points.x[points.x.length - 1]);
    this.initial = fit.parameters[0].value + points.offsetY;
    this.coefficient = fit.parameters[1].value / this.root;
  }
  value(x: number): number {
    return this.initial + this.coefficient * Math.sqrt(x);
  }
  slope(x: number): number {
    return this.coefficient / (2 * Math.sqrt(x));
  }
  gradient(x: number): number[] {
    return [1, Math.sqrt(x) / this.root];
  }
  published(): [string, number, number[]][] {
    return [
      ['initial', this.initial, [1, 0]],
      ['coefficient', this.coefficient, [0, 1 / this.root]],
    ];
  }
}

/**
 * Straight line: y = initial + slope · x.
 *
 * @param points at least 3
 */
export function fitLinear(points: AgeingPoints): LawFit {
  return new LinearFit(solver.solve(new LineModel(points)), points);
}

/**
 * Square root: y = initial + coefficient · √x, the parabolic law of diffusion-limited film growth (Broussely et al.,
 * J. Power Sources 97-98 (2001) 13; from memory).
 *
 * @param points at least 3
 */
export function fitSquareRoot(points: AgeingPoints): LawFit {
  return new SquareRootFit(solver.solve(new RootModel(points)), points);
}
