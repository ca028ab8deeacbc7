import fc from 'fast-check';
import { expect, test } from 'vitest';
import { FeatureCosts } from '../../../fitting/pairing/featureCosts.ts';
import { FeatureSource } from '../../../fitting/pairing/featureSource.ts';
import { matchProvenBest } from '../../../fitting/pairing/provenMatching.ts';
import { fillTable } from './enumerate.ts';
import { TableCosts } from './tableCosts.ts';
import { TableSource } from './tableSource.ts';

const evenLot = fc
  .array(fc.integer({ min: 0, max: 10_000 }), { minLength: 2, maxLength: 60 })
  .filter((values) => values.length % 2 === 0);

const neighbourTotal = (values: readonly number[], cost: (difference: number) => number) => {
  const sorted = [...values].sort((a, b) => a - b);
  let total = 0;
  for (let i = 0; i < sorted.length; i += 2) total += cost(sorted[i + 1] - sorted[i]);
  return total;
};

// Source: the classical property of convex costs in one dimension (from memory).
test('in one dimension the pairing of sorted neighbours is optimal, for absolute and squared differences', () => {
  fc.assert(
    fc.property(evenLot, (values) => {
      const count = values.length;
      const table = fillTable(count, (a, b) => Math.abs(values[a] - values[b]));
      const absolute = matchProvenBest(new TableSource(new TableCosts(count, table)));
      expect(absolute.check).toMatchObject({ proven: true, total: neighbourTotal(values, (d) => d) });
      const feature = {
        values: Float64Array.from(values),
        tolerance: 1,
        importance: 1,
        limit: Infinity,
      };
      const costs = new FeatureCosts([feature]);
      const squared = matchProvenBest(new FeatureSource(costs));
      expect(squared.check.proven).toBe(true);
      // Each of the pairs is rounded once.
      const expected = neighbourTotal(values, (d) => d * d);
      expect(Math.abs(squared.check.total * costs.resolution - expected)).toBeLessThanOrEqual(
        (count / 2) * costs.resolution,
      );
    }),
    { numRuns: 150, seed: 6 },
  );
});

test('the order of the cells does not change the total', () => {
  fc.assert(
    fc.property(evenLot, fc.integer(), (values, salt) => {
      const total = (list: readonly number[]) => {
        const make = (f: (x: number) => number) => ({
          values: Float64Array.from(list, f),
          tolerance: 1,
          importance: 1,
          limit: Infinity,
        });
        return matchProvenBest(
          new FeatureSource(new FeatureCosts([make((x) => x), make((x) => (x * 7919) % 997)])),
        ).check.total;
      };
      const turned = values.map((_, i) => values[(i + Math.abs(salt)) % values.length]);
      expect(total(turned)).toBe(total(values));
    }),
    { numRuns: 60, seed: 6 },
  );
});
