import { expect, test } from 'vitest';
import { bootstrapOf, countChosen } from '../../../fitting/pairing/bootstrapPairs.ts';
import { bestExchanges } from '../../../fitting/pairing/exchanges.ts';
import { FeatureCosts } from '../../../fitting/pairing/featureCosts.ts';
import type { LotFeature } from '../../../fitting/pairing/lotFeature.ts';
import { pairLot, partnersOf } from '../../../fitting/pairing/pairLot.ts';
import {
  probabilityAllWithin,
  probabilityWithinTolerance,
} from '../../../fitting/pairing/withinTolerance.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const feature = (values: number[], uncertainty: number | null, tolerance = 1): LotFeature => ({
  values: Float64Array.from(values),
  standardUncertainties: values.map(() => uncertainty),
  tolerance,
  importance: 1,
  limit: Infinity,
});

// Source: tables of the normal distribution: 0.6827 within one, 0.9545 within two standard deviations.
test('the probability within tolerance is that of the normal distribution', () => {
  expect(probabilityWithinTolerance(0, 1, 1)).toBeCloseTo(0.682689492, 8);
  expect(probabilityWithinTolerance(0, 1, 2)).toBeCloseTo(0.954499736, 8);
  expect(probabilityWithinTolerance(-1, 1, 1)).toBeCloseTo(0.5 - 0.022750132, 8);
  expect(probabilityWithinTolerance(1, 0, 1)).toBe(1);
  expect(probabilityWithinTolerance(1.1, 0, 1)).toBe(0);
});

// Source: upper 5 % points of the range of n standard normal values (tables of the studentized range, infinite degrees of freedom).
test.each([
  [2, 2.772],
  [3, 3.314],
  [4, 3.633],
  [5, 3.858],
  [10, 4.474],
  [14, 4.743],
])('no two of %d alike values are farther apart than their tabled range', (n, range) => {
  const zeros = Array<number>(n).fill(0);
  expect(probabilityAllWithin(zeros, Array<number>(n).fill(1), range)).toBeCloseTo(0.95, 3);
});

test('values of unlike uncertainty are within the tolerance as often as drawn ones are', () => {
  const values = [2.5, 2.503, 2.499, 2.51];
  const uncertainties = [0.004, 0.0002, 0.008, 0.002];
  const normal = normalSource(seededRandom(7));
  const draws = 40_000;
  let within = 0;
  for (let k = 0; k < draws; k++) {
    const drawn = values.map((value, i) => value + uncertainties[i] * normal());
    if (Math.max(...drawn) - Math.min(...drawn) <= 0.015) within++;
  }
  // Three standard errors of the share.
  expect(Math.abs(probabilityAllWithin(values, uncertainties, 0.015) - within / draws)).toBeLessThan(0.0075);
  expect(probabilityAllWithin([0, 0.4], [0.3, 0.4], 1)).toBeCloseTo(
    probabilityWithinTolerance(0.4, 0.5, 1),
    6,
  );
  expect(probabilityAllWithin([1, 1.2, 1.3], [0, 0, 0], 0.29)).toBe(0);
});

test('the best exchange costs what re-computing the two pairs costs, and its uncertainty is that of re-drawing', () => {
  const features = [feature([0, 0.4, 1, 1.1, 3, 3.5], 0.1), feature([2, 2.1, 1.5, 1.9, 0, 0.4], 0.2, 2)];
  const { costs, pairs } = pairLot({ features, apart: [], goal: 'least-total' });
  const [exchange] = bestExchanges(costs, features, pairs);
  const cost = (columns: ArrayLike<number>[], a: number, b: number) =>
    columns.reduce((sum, column, f) => sum + ((column[a] - column[b]) / features[f].tolerance) ** 2, 0);
  const increase = (columns: ArrayLike<number>[]) => {
    const [[a, b], [c, d]] = [pairs[0], pairs[exchange!.other]];
    const [[e, f], [g, h]] = exchange!.instead;
    return cost(columns, e, f) + cost(columns, g, h) - cost(columns, a, b) - cost(columns, c, d);
  };
  expect(exchange!.increase).toBeCloseTo(increase(features.map((f) => f.values)), 8);
  const normal = normalSource(seededRandom(5));
  const draws = Array.from({ length: 20_000 }, () =>
    increase(features.map((f, i) => f.values.map((value) => value + (i === 0 ? 0.1 : 0.2) * normal()))),
  );
  const mean = draws.reduce((a, b) => a + b, 0) / draws.length;
  const sd = Math.sqrt(draws.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (draws.length - 1));
  // 20,000 draws give a standard deviation to about 0.5 %; three times that.
  expect(Math.abs(exchange!.standardUncertainty! / sd - 1)).toBeLessThan(0.02);
});

test('an exchange is unknown without a second pair, and its uncertainty without those of the values', () => {
  const two = [feature([0, 1], 0.1)];
  expect(bestExchanges(new FeatureCosts(two), two, [[0, 1]])).toEqual([null]);
  const four = [feature([0, 1, 5, 6], null)];
  const [exchange] = bestExchanges(new FeatureCosts(four), four, [
    [0, 1],
    [2, 3],
  ]);
  expect(exchange).toMatchObject({ other: 1, standardUncertainty: null });
});

test('pairs far apart are always chosen again, pairs of equal cells are not, and nothing moves without uncertainty', () => {
  const run = (uncertainty: number | null) => {
    const features = [feature([0, 0.01, 50, 50.01, 100, 100, 100, 100], uncertainty)];
    const { pairs } = pairLot({ features, apart: [], goal: 'least-total' });
    const part = (first: number, count: number) =>
      countChosen(
        features,
        pairs,
        (drawn) => partnersOf({ features: drawn, apart: [], goal: 'least-total' }),
        {
          first,
          count,
          random: seededRandom(1),
        },
      );
    // The runs are the same whichever parts they are counted in.
    const chosen = part(0, 200);
    const [early, late] = [part(0, 77), part(77, 123)];
    expect(chosen).toEqual(chosen.map((_, i) => early[i] + late[i]));
    return bootstrapOf(chosen, 200);
  };
  const { frequencies, meanKept } = run(0.1);
  expect(frequencies[0]).toBeCloseTo(1, 9);
  expect(frequencies[1]).toBeCloseTo(1, 9);
  // Any of the three pairings of four equal cells is as likely as the others; the standard error is 0.033.
  expect(Math.abs(frequencies[2] - 1 / 3)).toBeLessThan(0.1);
  expect(meanKept).toBeCloseTo((2 + 2 * frequencies[2]) / 4, 9);
  expect(run(null).meanKept).toBeCloseTo(1, 9);
});
