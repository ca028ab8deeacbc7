import { describe, expect, test } from 'vitest';
import { bestExchanges } from '../../../fitting/pairing/exchanges.ts';
import { FeatureCosts } from '../../../fitting/pairing/featureCosts.ts';
import { FeatureSource } from '../../../fitting/pairing/featureSource.ts';
import type { LotFeature } from '../../../fitting/pairing/lotFeature.ts';
import { pairLot } from '../../../fitting/pairing/pairLot.ts';
import { toleranceChart } from '../../../fitting/pairing/toleranceChart.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** Lots of 90 cells: plain, with a hard limit, and on a coarse grid, where many costs are equal. */
const lots = [
  { name: 'plain', limit: Infinity, step: 0 },
  { name: 'with a limit that many exchanges break', limit: 0.8, step: 0 },
  { name: 'on a grid, with a limit', limit: 1.5, step: 0.5 },
  { name: 'on a grid', limit: Infinity, step: 0.5 },
].map(({ name, limit, step }, seed) => {
  const normal = normalSource(seededRandom(seed + 1));
  const features: LotFeature[] = [1, 2, 0.5].map((tolerance, f) => ({
    values: Float64Array.from({ length: 90 }, () => {
      const value = normal();
      return step > 0 ? Math.round(value / step) * step : value;
    }),
    standardUncertainties: new Array<number>(90).fill(0.1),
    tolerance,
    importance: 1,
    limit: f === 0 ? limit : Infinity,
  }));
  return {
    name,
    features,
    apart: [
      [0, 1],
      [5, 40],
    ] as const,
  };
});

describe.each(lots)('a lot $name', ({ features, apart }) => {
  const costs = new FeatureCosts(features, apart);
  const { pairs, matching } = pairLot({ features, apart, goal: 'least-total' });

  test('has for each pair the exchange that looking at every other pair finds', () => {
    const all = pairs.map(([a, b], p) => {
      let best = { other: -1, crossed: false, increase: Infinity };
      pairs.forEach(([c, d], q) => {
        if (q === p) return;
        const now = costs.costOf(a, b) + costs.costOf(c, d);
        const straight = costs.costOf(a, c) + costs.costOf(b, d) - now;
        const crossed = costs.costOf(a, d) + costs.costOf(b, c) - now;
        const increase = Math.min(straight, crossed);
        if (increase < best.increase) best = { other: q, crossed: crossed < straight, increase };
      });
      if (best.other === -1) return null;
      const [c, d] = best.crossed ? [...pairs[best.other]].reverse() : pairs[best.other];
      return {
        other: best.other,
        instead: [
          [a, c],
          [b, d],
        ],
        increase: best.increase * costs.resolution,
      };
    });
    const found = bestExchanges(costs, features, pairs).map((one) => {
      if (one === null) return null;
      const { standardUncertainty: _known, ...rest } = one;
      return rest;
    });
    expect(found).toEqual(all);
    expect(all.some((one) => one !== null)).toBe(true);
  });

  test('has for each cell the partners that looking at every other cell finds', () => {
    const source = new FeatureSource(costs);
    for (let cell = 0; cell < costs.count; cell++) {
      const without = matching.partner[cell];
      const all = Array.from({ length: costs.count }, (_, partner) => ({
        partner,
        cost: partner === cell || partner === without ? Infinity : costs.costOf(cell, partner),
      }));
      const cheapest = all
        .filter(({ cost }) => cost < Infinity)
        .toSorted((a, b) => a.cost - b.cost || a.partner - b.partner)
        .slice(0, 3);
      expect(source.cheapestPartners(cell, 3, without)).toEqual(cheapest);
    }
  });

  test('has at every tolerance the total of a pairing of its own', () => {
    for (const { factor, pairs: count, total } of toleranceChart(features, apart, pairs)) {
      const limited = features.map((feature) => ({
        ...feature,
        limit: factor * (feature.limit === Infinity ? feature.tolerance : feature.limit),
      }));
      const own = pairLot({ features: limited, apart, goal: 'least-total' });
      expect(own.proven).toBe(true);
      expect(count).toBe(own.pairs.length);
      expect(Math.abs(total - own.total)).toBeLessThanOrEqual(1e-9 * own.total);
    }
  });
});
