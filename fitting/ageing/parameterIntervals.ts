import type { FitResult } from '../least-squares/index.ts';
import { coverageFactor, profileIntervalBy } from '../least-squares/index.ts';
import type { LawFit } from './lawFit.ts';
import type { AgeingPoints } from './points.ts';

/** An interval of one published parameter; an end that the data leave open is null. */
export interface ParameterInterval {
  readonly name: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly method: 'profile' | 'logarithmic' | 'student';
}

/**
 * Intervals of a law's parameters. The exponent of a power and the scale of an exponential come from their profile likelihood (D. M. Bates,
 * D. G. Watts, Nonlinear Regression Analysis, 1988, 6.1): the other coefficients are linear once it is held, and the curve is far
 * from linear in it. The factor of a power, which is nearly the exponential of its exponent, is taken on a logarithmic scale;
 * all others by their standard error and Student's t. Every variance is grown by the autocorrelation of the residuals.
 *
 * @param points those the law was fitted to, with their weights
 * @param level between 0 and 1
 */
export function parameterIntervals(law: LawFit, points: AgeingPoints, level: number): ParameterInterval[] {
  const factor = law.fit.converged && law.fit.degreesOfFreedom > 0 ? coverageFactor(law.fit, level) : null;
  return law.parameters.map(({ name, value, standardError }): ParameterInterval => {
    const profiled = PROFILED[law.name]?.[name];
    if (profiled !== undefined) return profiledInterval(law, points, name, profiled, level);
    if (standardError === null || factor === null) return { name, low: null, high: null, method: 'student' };
    const half = factor * standardError;
    if (law.name === 'power' && name === 'coefficient' && value !== 0) {
      const ratio = Math.exp(half / Math.abs(value));
      const ends = [value / ratio, value * ratio];
      return { name, low: Math.min(...ends), high: Math.max(...ends), method: 'logarithmic' };
    }
    return { name, low: value - half, high: value + half, method: 'student' };
  });
}

/** How a parameter that is held turns into the engine's one, and into the columns of the coefficients that stay free. */
interface Profiled {
  readonly engine: string;
  toPublished(held: number, law: LawFit, points: AgeingPoints): number;
  columns(held: number, law: LawFit, points: AgeingPoints, i: number): readonly number[];
}

const rangeOf = ({ x }: AgeingPoints): number => x[x.length - 1] - x[0];

const PROFILED: { readonly [law in LawFit['name']]?: Readonly<Record<string, Profiled>> } = {
  power: {
    exponent: {
      engine: 'logExponent',
      toPublished: (held) => Math.exp(held),
      columns: (held, _, { x }, i) => [1, (x[i] / x[x.length - 1]) ** Math.exp(held)],
    },
  },
  'exponential-linear': {
    scale: {
      engine: 'logRate',
      toPublished: (held, law, points) =>
        (Math.sign(law.parameter('scale')) * rangeOf(points)) / Math.exp(held),
      columns: (held, law, points, i) => {
        const { x } = points;
        const u = (x[i] - x[0]) / rangeOf(points);
        return [1, u, Math.exp(-Math.exp(held) * (law.parameter('scale') > 0 ? u : 1 - u))];
      },
    },
  },
};

function profiledInterval(
  law: LawFit,
  points: AgeingPoints,
  name: string,
  { engine, toPublished, columns }: Profiled,
  level: number,
): ParameterInterval {
  const held = (value: number) => ({
    cost: leastSquares(points, (i) => columns(value, law, points, i)),
    values: new Float64Array(law.fit.parameters.length),
  });
  const { residualSd } = law.fit;
  const grown: FitResult = {
    ...law.fit,
    residualSd: residualSd === null ? null : residualSd * Math.sqrt(law.varianceInflation),
  };
  const found = profileIntervalBy(grown, engine, held, level);
  const published = [found.low, found.high].map((end) =>
    end === null ? null : toPublished(end, law, points),
  );
  const falls = toPublished(1, law, points) < toPublished(0, law, points);
  const [low, high] = falls ? published.reverse() : published;
  return { name, low, high, method: 'profile' };
}

/** Weighted residual sum of squares of a linear fit to few columns, by orthogonalising them in turn (modified Gram and Schmidt). */
function leastSquares(
  { y, weights, offsetY }: AgeingPoints,
  columnsAt: (i: number) => readonly number[],
): number {
  const root = (i: number): number => (weights === null ? 1 : Math.sqrt(weights[i]));
  const rows = Array.from(y, (_, i) => columnsAt(i).map((value) => value * root(i)));
  const rest = Float64Array.from(y, (value, i) => (value - offsetY) * root(i));
  const columns = rows[0].map((_, c) => Float64Array.from(rows, (row) => row[c]));
  columns.forEach((column, c) => {
    const square = dot(column, column);
    if (!(square > 0)) return;
    for (const later of [...columns.slice(c + 1), rest]) {
      const share = dot(column, later) / square;
      for (let i = 0; i < later.length; i++) later[i] -= share * column[i];
    }
  });
  return dot(rest, rest);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
