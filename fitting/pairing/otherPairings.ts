import type { RandomSource } from '../statistics/index.ts';
import type { FeatureCosts } from './featureCosts.ts';

/** Pairs by index, as made by a simple rule. */
export type Pairs = readonly (readonly [number, number])[];

/** Pairs of a random order of the cells; where they are odd, the last one is left over. */
export function randomPairs(count: number, random: RandomSource): Pairs {
  const order = Int32Array.from({ length: count }, (_, i) => i);
  // Fisher and Yates.
  for (let i = count - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    const kept = order[i];
    order[i] = order[j];
    order[j] = kept;
  }
  return neighbours(order);
}

/** Sorts the cells by one feature and pairs neighbours from the lowest value up. */
export function sortedNeighbourPairs(values: Float64Array): Pairs {
  const order = Int32Array.from(values, (_, i) => i).sort((a, b) => values[a] - values[b] || a - b);
  return neighbours(order);
}

/** Takes the cheapest acceptable pair, then the cheapest of the cells that remain, and so on. */
export function greedyPairs(costs: FeatureCosts): Pairs {
  const { count } = costs;
  const row = new Float64Array(count);
  const firsts: number[] = [];
  const seconds: number[] = [];
  const prices: number[] = [];
  for (let a = 0; a < count; a++) {
    costs.costsAfter(a, row);
    for (let b = a + 1; b < count; b++) {
      if (row[b] === Infinity) continue;
      firsts.push(a);
      seconds.push(b);
      prices.push(row[b]);
    }
  }
  const order = Uint32Array.from(prices, (_, i) => i).sort((i, j) => prices[i] - prices[j] || i - j);
  const taken = new Uint8Array(count);
  const pairs: [number, number][] = [];
  for (const i of order) {
    if (taken[firsts[i]] || taken[seconds[i]]) continue;
    taken[firsts[i]] = taken[seconds[i]] = 1;
    pairs.push([firsts[i], seconds[i]]);
  }
  return pairs;
}

function neighbours(order: Int32Array): Pairs {
  const pairs: [number, number][] = [];
  for (let i = 0; i + 1 < order.length; i += 2) pairs.push([order[i], order[i + 1]]);
  return pairs;
}
