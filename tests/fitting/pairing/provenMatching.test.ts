import { expect, test } from 'vitest';
import { FeatureCosts } from '../../../fitting/pairing/featureCosts.ts';
import { FeatureSource } from '../../../fitting/pairing/featureSource.ts';
import { matchProvenBest } from '../../../fitting/pairing/provenMatching.ts';
import { normalSource, type RandomSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { enumerateBest, fillTable } from './enumerate.ts';
import { TableCosts } from './tableCosts.ts';
import { TableSource } from './tableSource.ts';

const whole = (random: RandomSource, below: number) => Math.floor(random() * below);

/** Graphs of every awkward kind: ties, negative and equal costs, forbidden pairs, odd counts, islands. */
function awkwardTable(random: RandomSource): { count: number; table: Float64Array; kind: string } {
  const count = 1 + whole(random, 10);
  const kind = ['ties', 'negative', 'equal', 'sparse', 'islands', 'wide', 'empty'][whole(random, 7)];
  const density = kind === 'sparse' ? random() : 1;
  const table = fillTable(count, (a, b) => {
    if (kind === 'empty' && random() < 0.9) return Infinity;
    if (kind === 'islands' && a % 3 !== b % 3) return Infinity;
    if (random() > density) return Infinity;
    if (kind === 'equal') return 7;
    if (kind === 'negative') return whole(random, 21) - 10;
    return whole(random, kind === 'wide' ? 1_000_000 : 4);
  });
  return { count, table, kind };
}

test('2,000 small graphs of every awkward kind give the pairs and the total that enumeration finds', () => {
  const random = seededRandom(6);
  for (let i = 0; i < 2000; i++) {
    const { count, table, kind } = awkwardTable(random);
    const best = enumerateBest(count, table);
    const { check } = matchProvenBest(new TableSource(new TableCosts(count, table)));
    expect({ i, kind, pairs: check.pairs, total: check.total }).toEqual({ i, kind, ...best });
    expect(check).toMatchObject({ proven: true, lowerBound: best.total, failure: null });
  }
});

test('cells as points with limits and pairs kept apart give what enumeration finds', () => {
  const random = seededRandom(7);
  for (let i = 0; i < 300; i++) {
    const count = 2 + whole(random, 9);
    const features = [0, 1, 2].map((f) => ({
      values: Float64Array.from({ length: count }, () => whole(random, 12) / 4),
      tolerance: 0.5 + f,
      importance: f === 2 ? 0 : 1 + f,
      limit: f === 1 ? Infinity : 1 + random(),
    }));
    const costs = new FeatureCosts(features, count > 3 ? [[0, 3]] : []);
    const table = fillTable(count, (a, b) => costs.costOf(a, b));
    const { check } = matchProvenBest(new FeatureSource(costs));
    expect({ i, pairs: check.pairs, total: check.total }).toEqual({ i, ...enumerateBest(count, table) });
    expect(check.proven).toBe(true);
  }
});

test('two far lots of odd size are paired across the gap once, as on the complete graph', () => {
  const normal = normalSource(seededRandom(8));
  for (const [near, far] of [
    [51, 49],
    [101, 151],
    [7, 93],
  ]) {
    const count = near + far;
    const features = [0, 1].map((f) => ({
      values: Float64Array.from({ length: count }, (_, i) => normal() + (i < near ? 0 : 200 + f)),
      tolerance: 1,
      importance: 1,
      limit: Infinity,
    }));
    const costs = new FeatureCosts(features);
    const sparse = matchProvenBest(new FeatureSource(costs));
    const table = fillTable(count, (a, b) => costs.costOf(a, b));
    // With this many neighbours the table's graph is complete from the start: nothing is left to chance.
    const complete = matchProvenBest(new TableSource(new TableCosts(count, table)), count);
    expect(complete.rounds).toBe(1);
    expect(sparse.check).toMatchObject({ proven: true, pairs: count / 2, total: complete.check.total });
    let across = 0;
    sparse.partner.forEach((b, a) => {
      if (a < near && b >= near) across++;
    });
    expect(across).toBe(1);
  }
});

test('a first graph of two neighbours each gives the total of the complete graph, whatever the lot looks like', () => {
  const random = seededRandom(11);
  const normal = normalSource(random);
  let moreRounds = 0;
  for (let i = 0; i < 60; i++) {
    const count = 20 + whole(random, 100);
    const clusters = 1 + whole(random, 9);
    const grid = i % 3 === 0 ? 1 : 0;
    const features = [0, 1].map((f) => {
      const centres = Array.from({ length: clusters }, () => 30 * normal());
      const values = Float64Array.from({ length: count }, (_, cell) => {
        const value = centres[(cell * 7) % clusters] + normal();
        return grid ? Math.round(value) : value;
      });
      return { values, tolerance: 1, importance: 1 + f, limit: i % 4 === 0 ? 3 : Infinity };
    });
    const source = new FeatureSource(new FeatureCosts(features));
    const sparse = matchProvenBest(source, 2);
    const complete = matchProvenBest(source, count - 1);
    expect(complete.rounds).toBe(1);
    expect(sparse.check).toEqual(complete.check);
    expect(sparse.check.proven).toBe(true);
    if (sparse.rounds > 1) moreRounds++;
  }
  expect(moreRounds).toBeGreaterThan(20);
});

test('an odd count leaves exactly one cell over, the one that makes the rest cheapest', () => {
  const features = [
    {
      values: Float64Array.of(1, 1.01, 5, 2, 2.02),
      tolerance: 1,
      importance: 1,
      limit: Infinity,
    },
  ];
  const { partner, check } = matchProvenBest(new FeatureSource(new FeatureCosts(features)));
  expect([...partner]).toEqual([1, 0, -1, 4, 3]);
  expect(check).toMatchObject({ proven: true, pairs: 2 });
});

test('costs that could not be added exactly are refused with the entry named', () => {
  const table = fillTable(3, () => 0.5);
  expect(() => new TableCosts(3, table)).toThrow(/cells 0 and 1 is 0.5/);
  expect(() => new TableCosts(2, Float64Array.of(0, 1, 2, 0))).toThrow(/not symmetric/);
  const feature = { values: Float64Array.of(1, Number.NaN), tolerance: 1, importance: 1, limit: Infinity };
  expect(() => new FeatureCosts([feature])).toThrow(/cell 1 is NaN/);
  expect(() => new FeatureCosts([{ ...feature, tolerance: 0 }])).toThrow(/tolerance of feature 0 is 0/);
});
