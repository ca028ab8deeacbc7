import { expect, test } from 'vitest';
import { FeatureCosts } from '../../../fitting/pairing/featureCosts.ts';
import { matchLeastWorst } from '../../../fitting/pairing/leastWorstMatching.ts';
import { seededRandom } from '../../../fitting/statistics/random.ts';
import { enumerateBest, fillTable } from './enumerate.ts';

/** The lexicographic optimum by enumeration: most pairs, then the lowest cap that still allows them, then the total. */
function enumerateLeastWorst(count: number, table: Float64Array) {
  const most = enumerateBest(count, table);
  const prices = [...new Set(table)].filter((cost) => cost !== Infinity).sort((a, b) => a - b);
  for (const worst of prices) {
    const best = enumerateBest(
      count,
      table.map((cost) => (cost > worst ? Infinity : cost)),
    );
    if (best.pairs === most.pairs) return { ...best, worst: best.pairs === 0 ? null : worst };
  }
  return { ...most, worst: null };
}

test('the least worst pair and then the least total are those of enumeration, and both are proven', () => {
  const random = seededRandom(9);
  for (let i = 0; i < 150; i++) {
    const count = 2 + Math.floor(random() * 9);
    const features = [0, 1].map((f) => ({
      values: Float64Array.from({ length: count }, () => Math.floor(random() * 9)),
      tolerance: 1,
      importance: 1 + f,
      limit: i % 3 === 0 ? 3 : Infinity,
    }));
    const costs = new FeatureCosts(features);
    const table = fillTable(count, (a, b) => costs.costOf(a, b));
    const best = enumerateLeastWorst(count, table);
    const found = matchLeastWorst(costs);
    const { pairs, total } = found.check;
    expect({ i, pairs, total, worst: found.worst }).toEqual({ i, ...best });
    expect(found.check.proven).toBe(true);
    expect(found.worstProven).toBe(true);
  }
});
