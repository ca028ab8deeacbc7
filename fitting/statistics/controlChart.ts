import { integrate } from '../numeric/index.ts';
import { normalProbability } from './distributions.ts';
import { logGamma } from './noncentralT.ts';
import { checkSample, mean } from './sample.ts';

/** Factors of Shewhart charts for subgroups of n from a normal population. */
export interface ControlChartConstants {
  readonly n: number;
  /** Mean and standard deviation of the range, in units of σ. */
  readonly d2: number;
  readonly d3: number;
  /** Mean of the sample standard deviation, in units of σ. */
  readonly c4: number;
  /** Mean chart from the range, range chart. */
  readonly A2: number;
  readonly D3: number;
  readonly D4: number;
  /** Mean chart from the standard deviation, standard-deviation chart. */
  readonly A3: number;
  readonly B3: number;
  readonly B4: number;
}

const constants = new Map<number, ControlChartConstants>();

/**
 * Control-chart constants (ASTM manual 7; ISO 7870-2), computed from the distribution of the range: d2 = ∫ [1
 * − Φⁿ − (1 − Φ)ⁿ] and E(R²) = 2∬ [1 − Φ(y)ⁿ − (1 − Φ(x))ⁿ + (Φ(y) − Φ(x))ⁿ] over x < y (Tippett, Biometrika
 * 17 (1925) 364).
 *
 * @throws RangeError unless n is an integer from 2 to 100
 */
export function controlChartConstants(n: number): ControlChartConstants {
  if (!(Number.isInteger(n) && n >= 2 && n <= 100))
    throw new RangeError(`n must be an integer from 2 to 100, got ${n}`);
  const known = constants.get(n);
  if (known) return known;
  const reach = 8.5;
  const d2 = integrate((x) => 1 - normalProbability(x) ** n - normalProbability(-x) ** n, -reach, reach, 8);
  const secondMoment =
    2 *
    integrate(
      (x) => {
        const below = normalProbability(x);
        return integrate(
          (y) => {
            const upTo = normalProbability(y);
            return 1 - upTo ** n - (1 - below) ** n + (upTo - below) ** n;
          },
          x,
          reach,
          3,
        );
      },
      -reach,
      reach,
      6,
    );
  const d3 = Math.sqrt(secondMoment - d2 * d2);
  const c4 = Math.sqrt(2 / (n - 1)) * Math.exp(logGamma(n / 2) - logGamma((n - 1) / 2));
  const relative = (3 * d3) / d2;
  const relativeDeviation = (3 * Math.sqrt(1 - c4 * c4)) / c4;
  const result: ControlChartConstants = {
    n,
    d2,
    d3,
    c4,
    A2: 3 / (d2 * Math.sqrt(n)),
    D3: Math.max(0, 1 - relative),
    D4: 1 + relative,
    A3: 3 / (c4 * Math.sqrt(n)),
    B3: Math.max(0, 1 - relativeDeviation),
    B4: 1 + relativeDeviation,
  };
  constants.set(n, result);
  return result;
}

/**
 * Mean of the range of n over g subgroups as an estimator: d2* = √(d2² + d3²/g), with which (R̄/d2*)²
 * estimates σ² without bias (Patnaik, Biometrika 37 (1950) 78).
 */
export function rangeDivisor(n: number, subgroups: number): number {
  const { d2, d3 } = controlChartConstants(n);
  return Math.sqrt(d2 * d2 + (d3 * d3) / subgroups);
}

export interface IndividualsChart {
  readonly centre: number;
  readonly meanMovingRange: number;
  readonly sigma: number;
  readonly upper: number;
  readonly lower: number;
  /** Upper limit of the moving ranges, D4 times their mean. */
  readonly rangeUpper: number;
  /** Indices of values outside the limits. */
  readonly outside: readonly number[];
}

/**
 * Individuals chart: mean ± 3 MR̄/d2, MR the differences of neighbours in time (e-Handbook of Statistical
 * Methods 6.3.2.2).
 *
 * @param d2 default exact (1.128379); the handbook uses 1.128
 * @throws RangeError for fewer than 2 or non-finite values
 */
export function individualsChart(
  values: ArrayLike<number>,
  d2 = controlChartConstants(2).d2,
): IndividualsChart {
  checkSample(values, 2);
  const centre = mean(values);
  let sum = 0;
  for (let i = 1; i < values.length; i++) sum += Math.abs(values[i] - values[i - 1]);
  const meanMovingRange = sum / (values.length - 1);
  const sigma = meanMovingRange / d2;
  const [upper, lower] = [centre + 3 * sigma, centre - 3 * sigma];
  const outside = Array.from(values, (_, i) => i).filter((i) => values[i] > upper || values[i] < lower);
  const rangeUpper = controlChartConstants(2).D4 * meanMovingRange;
  return { centre, meanMovingRange, sigma, upper, lower, rangeUpper, outside };
}
