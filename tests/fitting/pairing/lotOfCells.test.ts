import { describe, expect, test } from 'vitest';
import { alternativePartners } from '../../../fitting/pairing/alternatives.ts';
import { judgeCells } from '../../../fitting/pairing/cellGates.ts';
import { comparePairings } from '../../../fitting/pairing/comparison.ts';
import type { LotFeature } from '../../../fitting/pairing/lotFeature.ts';
import { nearestMiss } from '../../../fitting/pairing/nearestMiss.ts';
import { pairLot } from '../../../fitting/pairing/pairLot.ts';
import { groupStacks } from '../../../fitting/pairing/stackGroups.ts';
import { toleranceChart } from '../../../fitting/pairing/toleranceChart.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { enumerateBest, fillTable } from './enumerate.ts';

const feature = (values: ArrayLike<number>, change: Partial<LotFeature> = {}): LotFeature => ({
  values: Float64Array.from(values),
  standardUncertainties: Array.from(values, () => null),
  tolerance: 1,
  importance: 1,
  limit: Infinity,
  ...change,
});
const normalLot = (count: number, seed: number) => {
  const normal = normalSource(seededRandom(seed));
  return [0, 1].map(() => feature(Array.from({ length: count }, normal)));
};
const physicalOf = (values: Float64Array) => ({
  capacityAh: values,
  resistanceOhm: null,
  chargeCurrentA: null,
});

// Derived: the mean difference of two values from N(µ, σ) is 2σ/√π, so random pairing loses σ/√π = 0.564190 σ of the mean
// pair's capacity against its larger cell, and half of that against the mean of both; sorted neighbours differ by
// 0.376 σ (10 cells), 0.217 σ (20) and 0.055 σ (100) on average (simulation, ± 0.001).
describe('comparePairings', () => {
  test('random pairing of a normal lot differs by 1.128379 σ on average', () => {
    const [values] = normalLot(4000, 12);
    const { costs, pairs } = pairLot({ features: [values], apart: [], goal: 'least-total' });
    const rows = comparePairings(costs, [values], pairs, physicalOf(values.values), 50, seededRandom(1));
    const mean = values.values.reduce((a, b) => a + b, 0) / 4000;
    const sigma = Math.sqrt(values.values.reduce((sum, x) => sum + (x - mean) ** 2, 0) / 3999);
    const random = rows.find((row) => row.method === 'random-mean')!;
    expect(Math.abs((2 * random.meanCapacityLossAh!) / sigma - 1.128379)).toBeLessThan(0.02);
    const p95 = rows.find((row) => row.method === 'random-p95')!;
    expect(p95.totalCost).toBeGreaterThan(random.totalCost);
  });

  test.each([
    [10, 0.376],
    [20, 0.217],
    [100, 0.055],
  ])(
    'sorted neighbours of %d cells differ by %d σ on average, and are the optimum of one feature',
    (count, gap) => {
      const normal = normalSource(seededRandom(count));
      const lots = Math.ceil(40_000 / count);
      let sum = 0;
      for (let lot = 0; lot < lots; lot++) {
        const one = feature(Array.from({ length: count }, normal));
        const { costs, pairs } = pairLot({ features: [one], apart: [], goal: 'least-total' });
        const rows = comparePairings(costs, [one], pairs, physicalOf(one.values), 0, seededRandom(1));
        const sorted = rows.find((row) => row.method === 'sorted-neighbours')!;
        expect(sorted.totalCost).toBeCloseTo(rows[0].totalCost, 8);
        sum += 2 * sorted.meanCapacityLossAh!;
      }
      expect(Math.abs(sum / lots - gap)).toBeLessThan(0.006);
    },
  );

  test('nothing is cheaper than the optimum', () => {
    const features = normalLot(60, 13);
    const { costs, pairs } = pairLot({ features, apart: [], goal: 'least-total' });
    const rows = comparePairings(
      costs,
      features,
      pairs,
      physicalOf(features[0].values),
      100,
      seededRandom(2),
    );
    expect(rows.map((row) => row.method)).toEqual([
      'optimum',
      'random-mean',
      'random-p95',
      'sorted-neighbours',
      'sorted-neighbours',
      'greedy',
    ]);
    for (const row of rows.slice(1)) expect(row.totalCost).toBeGreaterThan(rows[0].totalCost);
  });
});

describe('judgeCells', () => {
  const gate = (values: (number | null)[], minimum: number | null = null, maximum: number | null = null) => ({
    values,
    minimum,
    maximum,
    required: true,
    leastScale: 0,
  });

  test('names the missing value, the limit and the outlier, in that order', () => {
    const verdicts = judgeCells(
      [gate([1, 1.01, 0.99, 1.02, null, 0.5, 9, 0.98]), gate([5, 5, 5, 5, 5, 5, 5, 7], null, 6)],
      3.5,
    );
    expect(verdicts.map((verdict) => verdict?.reason ?? null)).toEqual([
      null,
      null,
      null,
      null,
      'missing-value',
      'outlier',
      'outlier',
      'outside-cell-limit',
    ]);
    expect(verdicts[7]).toEqual({ reason: 'outside-cell-limit', feature: 1, value: 7, limit: 6 });
  });

  test('a feature without robust spread marks no outlier', () => {
    expect(judgeCells([gate([1, 1, 1, 1, 2])], 3.5).every((verdict) => verdict === null)).toBe(true);
  });
});

test('demanding an alternative partner costs what enumeration says, and at least what the dual solution says', () => {
  for (let seed = 20; seed < 40; seed++) {
    const features = normalLot(seed % 2 === 0 ? 8 : 9, seed);
    const { costs, matching } = pairLot({ features, apart: [], goal: 'least-total' });
    const count = costs.count;
    const table = fillTable(count, (a, b) => costs.costOf(a, b));
    const best = enumerateBest(count, table);
    alternativePartners({ costs, features, apart: [], matching }, 3, true).forEach((partners, cell) => {
      for (const { partner, exact, increaseAtLeast } of partners) {
        const forced = table.map((cost, i) => {
          const [a, b] = [Math.floor(i / count), i % count];
          const touches = [a, b].some((x) => x === cell || x === partner);
          const itself = [a, b].includes(cell) && [a, b].includes(partner);
          return touches && !itself ? Infinity : cost;
        });
        const demanded = enumerateBest(count, forced);
        expect(exact!.pairsLost).toBe(best.pairs - demanded.pairs);
        expect(exact!.increase / costs.resolution).toBeCloseTo(demanded.total - best.total, 3);
        expect(increaseAtLeast).toBeLessThanOrEqual(exact!.increase + 1e-9);
      }
    });
  }
});

test('the nearest miss names the partner and every limit it breaks', () => {
  const features = [feature([1, 2, 10], { limit: 0.5 }), feature([0, 3, 0], { limit: 1 })];
  expect(nearestMiss(features, [1, 0], [1, 2])).toEqual({
    partner: 1,
    cost: 10,
    exceeded: [
      { feature: 0, difference: 1, limit: 0.5 },
      { feature: 1, difference: 3, limit: 1 },
    ],
  });
  expect(nearestMiss(features, [1, 0], [])).toBeNull();
});

test('more tolerance never gives fewer pairs, and with the limits as they are the chart agrees with the pairing', () => {
  const features = normalLot(41, 14).map((f) => ({ ...f, limit: 0.4 }));
  const chart = toleranceChart(features, []);
  for (let i = 1; i < chart.length; i++) expect(chart[i].pairs).toBeGreaterThanOrEqual(chart[i - 1].pairs);
  expect(chart[0].pairs).toBeLessThan(chart[chart.length - 1].pairs);
  const { pairs, total } = pairLot({ features, apart: [], goal: 'least-total' });
  expect(chart.find(({ factor }) => factor === 1)).toMatchObject({ pairs: pairs.length, total });
});

describe('groupStacks', () => {
  test('stays between its lower bound and the best of all groupings of six cells in threes', () => {
    for (let seed = 30; seed < 45; seed++) {
      const features = normalLot(6, seed);
      const { costs } = pairLot({ features, apart: [], goal: 'least-total' });
      const cost = (...cells: number[]) =>
        cells.reduce((sum, a, i) => sum + cells.slice(i + 1).reduce((s, b) => s + costs.costOf(a, b), 0), 0);
      let best = Infinity;
      for (let b = 1; b < 6; b++)
        for (let c = b + 1; c < 6; c++) {
          const rest = [1, 2, 3, 4, 5].filter((x) => x !== b && x !== c);
          best = Math.min(best, cost(0, b, c) + cost(...rest));
        }
      const found = groupStacks(costs, 3);
      expect(found.groups.map((group) => group.length)).toEqual([3, 3]);
      expect(found.total).toBeGreaterThanOrEqual(best * costs.resolution - 1e-9);
      expect(found.lowerBound).toBeLessThanOrEqual(best * costs.resolution + 1e-9);
    }
  });

  test('leaves the remainder over and keeps every two cells of a stack within the limits', () => {
    const features = normalLot(50, 15).map((f) => ({ ...f, limit: 1 }));
    const { costs } = pairLot({ features, apart: [], goal: 'least-total' });
    const { groups, leftOver, total, lowerBound } = groupStacks(costs, 4);
    expect(groups.length).toBeGreaterThan(5);
    expect(groups.flat().length + leftOver.length).toBe(50);
    for (const group of groups)
      for (const a of group)
        for (const b of group) if (a !== b) expect(costs.costOf(a, b)).toBeLessThan(Infinity);
    expect(lowerBound).toBeLessThanOrEqual(total);
    expect(() => groupStacks(costs, 2)).toThrow(RangeError);
  });
});
