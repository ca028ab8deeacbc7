import type { RandomSource } from '../statistics/index.ts';
import type { FeatureCosts } from './featureCosts.ts';

/** Pairs by index, as made by a simple rule. */
export type Pairs = readonly (readonly [number, number])[];

/**
 * A random order of the cells: each is paired with the one after it, and where they are odd, the last one is left over.
 *
 * @param order is written
 */
export function shuffle(order: Int32Array, random: RandomSource): Int32Array {
  const count = order.length;
  for (let i = 0; i < count; i++) order[i] = i;
  // Fisher and Yates.
  for (let i = count - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    const kept = order[i];
    order[i] = order[j];
    order[j] = kept;
  }
  return order;
}

/** The cells in the order of one feature: neighbours are paired from the lowest value up. */
export function sortedOrder(values: Float64Array): Int32Array {
  return Int32Array.from(values, (_, i) => i).sort((a, b) => values[a] - values[b] || a - b);
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
