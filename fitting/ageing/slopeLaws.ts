import type { FitResult, GramModel } from '../least-squares/index.ts';
import { createSeparableSolver, type SeparableSolver } from '../least-squares/index.ts';
import { LawFit } from './lawFit.ts';
import { type AgeingPoints, blockMeans } from './points.ts';

/** Bends lie between these shares of the range of x: nearer to an end there are too few points to tell two slopes. */
const FIRST_BEND = 0.04;
const LAST_BEND = 0.96;
/** Widths allowed, as shares of the range of x. */
const NARROWEST = 0.004;
const WIDEST = 0.4;
/** Least distance of onset and knee, as a share of the range of x. */
const LEAST_APART = 0.1;
const BLOCKS = 48;
const WIDTHS = [0.02, 0.12].map(Math.log);
const BENDS = [0.1, 0.25, 0.4, 0.55, 0.7, 0.8, 0.9];

const bend = (name: string) => ({
  name,
  unit: '1',
  start: 0.5,
  min: FIRST_BEND,
  max: LAST_BEND,
  maxStep: 0.15,
});
const width = {
  name: 'logWidth',
  unit: '1',
  start: Math.log(0.1),
  min: Math.log(NARROWEST),
  max: Math.log(WIDEST),
  maxStep: 0.7,
};
const linear = (count: number) =>
  ['level', 'tilt', 'turn', 'secondTurn'].slice(0, count).map((name) => ({ name, unit: 'y' }));

const twoSlopeShape = {
  linear: linear(3),
  nonlinear: [bend('bend'), width],
  derivatives: [
    { basis: 2, nonlinear: 0 },
    { basis: 2, nonlinear: 1 },
  ],
};
const threeSlopeShape = {
  linear: linear(4),
  nonlinear: [bend('onset'), bend('bend'), width],
  derivatives: [
    { basis: 2, nonlinear: 0 },
    { basis: 3, nonlinear: 1 },
    { basis: 2, nonlinear: 2 },
    { basis: 3, nonlinear: 2 },
  ],
};
const roughOptions = { refine: 2, offsetTolerance: 1e-2, maxIterations: 15 };
// The offset is squared in the sum of squares: 1e-4 leaves it within 1e-8 of the least, before the closing step.
const exactOptions = { offsetTolerance: 1e-4, refine: 2, maxIterations: 40 };
const two = {
  rough: createSeparableSolver(twoSlopeShape, roughOptions),
  exact: createSeparableSolver(twoSlopeShape, exactOptions),
  starts: BENDS.flatMap((at) => WIDTHS.map((w) => [at, w])),
};
const three = {
  rough: createSeparableSolver(threeSlopeShape, roughOptions),
  exact: createSeparableSolver(threeSlopeShape, exactOptions),
  starts: BENDS.flatMap((at, i) => BENDS.slice(i + 1, i + 5).map((later) => [at, later, WIDTHS[1]])),
};

/** Columns 1, v, φ₁ (, φ₂), their derivatives, y − mean. φ = s·tanh(s/g), s = u − bend, u from 0 to 1 over the range. */
class SlopeModel implements GramModel {
  readonly points: number;
  private readonly source: AgeingPoints;
  private readonly turns: 1 | 2;
  private readonly row: Float64Array;

  constructor(source: AgeingPoints, turns: 1 | 2) {
    this.source = source;
    this.turns = turns;
    this.points = source.x.length;
    this.row = new Float64Array(turns === 1 ? 6 : 9);
  }

  accumulate(theta: Float64Array, gram: Float64Array): void {
    const { x, y, weights, offsetY } = this.source;
    const { turns, row } = this;
    const side = row.length;
    const perRange = 1 / (x[x.length - 1] - x[0]);
    const g = Math.exp(theta[turns]);
    gram.fill(0);
    for (let i = 0; i < x.length; i++) {
      const u = (x[i] - x[0]) * perRange;
      row[0] = 1;
      row[1] = 2 * u - 1;
      if (turns === 1) fillTurn(row, 2, 3, 4, u - theta[0], g);
      else {
        fillTurn(row, 2, 4, 6, u - theta[0], g);
        fillTurn(row, 3, 5, 7, u - theta[1], g);
      }
      row[side - 1] = y[i] - offsetY;
      const w = weights === null ? 1 : weights[i];
      for (let a = 0; a < side; a++) {
        const wa = w * row[a];
        for (let b = a; b < side; b++) gram[a * side + b] += wa * row[b];
      }
    }
  }
}

/** Writes s·tanh(s/g) and its derivatives by the bend and by ln g. */
function fillTurn(
  row: Float64Array,
  at: number,
  byBend: number,
  byWidth: number,
  s: number,
  g: number,
): void {
  const t = Math.tanh(s / g);
  const q = (s / g) * (1 - t * t);
  row[at] = s * t;
  row[byBend] = -t - q;
  row[byWidth] = -s * q;
}

class SlopeFit extends LawFit {
  readonly name: 'two-slope' | 'three-slope';
  private readonly turns: 1 | 2;
  private readonly c: Float64Array;
  private readonly bends: readonly number[];
  private readonly g: number;
  private readonly first: number;
  private readonly range: number;

  constructor(fit: FitResult, points: AgeingPoints, turns: 1 | 2) {
    super(fit);
    this.name = turns === 1 ? 'two-slope' : 'three-slope';
    this.turns = turns;
    this.first = points.x[0];
    this.range = points.x[points.x.length - 1] - points.x[0];
    const values = fit.parameters.map((p) => p.value);
    this.c = Float64Array.from(values.slice(0, 2 + turns));
    this.c[0] += points.offsetY;
    this.bends = values.slice(2 + turns, 2 + 2 * turns);
    this.g = Math.exp(values[2 + 2 * turns]);
  }

  /** Two bends that (nearly) coincide are a bump between two parallel lines, not an onset and a knee. */
  override get identifiable(): boolean {
    const apart = this.turns === 1 || Math.abs(this.bends[1] - this.bends[0]) > LEAST_APART;
    return apart && super.identifiable;
  }

  private u(x: number): number {
    return (x - this.first) / this.range;
  }

  value(x: number): number {
    const u = this.u(x);
    let sum = this.c[0] + this.c[1] * (2 * u - 1);
    for (let k = 0; k < this.turns; k++) {
      const s = u - this.bends[k];
      sum += this.c[2 + k] * s * Math.tanh(s / this.g);
    }
    return sum;
  }

  slope(x: number): number {
    const u = this.u(x);
    let sum = 2 * this.c[1];
    for (let k = 0; k < this.turns; k++) {
      const s = u - this.bends[k];
      const t = Math.tanh(s / this.g);
      sum += this.c[2 + k] * (t + (s / this.g) * (1 - t * t));
    }
    return sum / this.range;
  }

  gradient(x: number): number[] {
    const row = new Float64Array(3);
    const u = this.u(x);
    const own: number[] = [1, 2 * u - 1];
    const byBend: number[] = [];
    let byWidth = 0;
    for (let k = 0; k < this.turns; k++) {
      fillTurn(row, 0, 1, 2, u - this.bends[k], this.g);
      own.push(row[0]);
      byBend.push(this.c[2 + k] * row[1]);
      byWidth += this.c[2 + k] * row[2];
    }
    return [...own, ...byBend, byWidth];
  }

  /** The last bend is the knee; with two, the first is its onset. */
  published(): [string, number, number[]][] {
    const { c, turns, range, first, g, bends } = this;
    const count = 3 + 2 * turns;
    const unit = (entries: Record<number, number>): number[] =>
      Array.from({ length: count }, (_, j) => entries[j] ?? 0);
    const anchor = bends[0];
    const list: [string, number, number[]][] = [
      ['level', c[0] + c[1] * (2 * anchor - 1), unit({ 0: 1, 1: 2 * anchor - 1, [2 + turns]: 2 * c[1] })],
      ['slope', (2 * c[1]) / range, unit({ 1: 2 / range })],
    ];
    for (let k = 0; k < turns; k++) {
      const name = turns === 1 ? 'slopeChange' : k === 0 ? 'onsetSlopeChange' : 'kneeSlopeChange';
      list.push([name, c[2 + k] / range, unit({ [2 + k]: 1 / range })]);
    }
    for (let k = 0; k < turns; k++) {
      const name = k === turns - 1 ? 'knee' : 'onset';
      list.push([name, first + bends[k] * range, unit({ [2 + turns + k]: range })]);
    }
    list.push(['width', g * range, unit({ [2 + 2 * turns]: g * range })]);
    return list;
  }
}

/**
 * Two slopes with a smooth bend (Bacon and Watts, Biometrika 58 (1971) 525; for knees of fade curves Fermín-Cueto et al., Energy
 * and AI 1 (2020) 100006): y = level + slope·(x − knee) + slopeChange·(x − knee)·tanh((x − knee)/width).
 * The slopes before and after are slope ∓ slopeChange.
 *
 * @param points at least 7
 */
export function fitTwoSlope(points: AgeingPoints): LawFit {
  return new SlopeFit(search(points, 1, two), points, 1);
}

/**
 * Three slopes, the double form of the same source: y = level + slope·(x − onset) + onsetSlopeChange·(x − onset)·tanh((x −
 * onset)/width) + kneeSlopeChange·(x − knee)·tanh((x − knee)/width).
 *
 * @param points at least 9
 */
export function fitThreeSlope(points: AgeingPoints): LawFit {
  return new SlopeFit(search(points, 2, three), points, 2);
}

interface Solvers {
  readonly rough: SeparableSolver;
  readonly exact: SeparableSolver;
  readonly starts: readonly (readonly number[])[];
}

function search(points: AgeingPoints, turns: 1 | 2, solvers: Solvers): FitResult {
  const means = blockMeans(points, BLOCKS);
  const start = solvers.rough.solve(new SlopeModel(means, turns), solvers.starts);
  const values = start.parameters.slice(2 + turns).map((parameter) => parameter.value);
  // Positions on the means are shares of a slightly shorter range.
  const first = points.x[0];
  const range = points.x[points.x.length - 1] - first;
  const meansFirst = means.x[0];
  const meansRange = means.x[means.x.length - 1] - meansFirst;
  for (let k = 0; k < turns; k++) values[k] = (meansFirst + values[k] * meansRange - first) / range;
  return solvers.exact.solve(new SlopeModel(points, turns), [values]);
}
