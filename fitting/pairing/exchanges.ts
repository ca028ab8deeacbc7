import type { FeatureCosts } from './featureCosts.ts';
import type { LotFeature } from './lotFeature.ts';
import { buildPointTree, greatestByNode, type PointTree } from './pointTree.ts';

/** The best exchange of partners between a pair and one other pair. */
export interface PairExchange {
  /** Index of the other pair. */
  readonly other: number;
  /** The two pairs that would be instead. */
  readonly instead: readonly [readonly [number, number], readonly [number, number]];
  /** How much dearer the two would be together, in cost; at least 0 where the pairing is optimal. */
  readonly increase: number;
  /** Standard uncertainty of that increase; null where a value's uncertainty is unknown. */
  readonly standardUncertainty: number | null;
}

/** Four costs, each rounded by at most a half, and the rounding of the coordinates: bounds allow for this many units. */
const ROUNDING = 8;

/**
 * For each pair the cheapest acceptable exchange of partners with one other pair, the first of equal ones; null where
 * there is none. Each partner change costs, per feature, 2 w (a − d)(b − c) more for pairs (a, b), (c, d) → (a, c), (b, d),
 * with w = importance / tolerance².
 */
export function bestExchanges(
  costs: FeatureCosts,
  features: readonly LotFeature[],
  pairs: readonly (readonly [number, number])[],
): (PairExchange | null)[] {
  const search = new ExchangeSearch(costs, pairs);
  return pairs.map(([a, b], p) => {
    const { other, crossed, increase } = search.bestOf(p);
    if (other === -1) return null;
    const [c, d] = crossed ? [pairs[other][1], pairs[other][0]] : pairs[other];
    return {
      other,
      instead: [
        [a, c],
        [b, d],
      ] as const,
      increase: increase * costs.resolution,
      standardUncertainty: exchangeUncertainty(features, a, b, c, d),
    };
  });
}

/**
 * Pairs by their midpoints. With midpoints m and n and half differences h and k, an exchange costs 2 |m − n|² − 2 |h ± k|²
 * more, so at least 2 |m − n|² − 2 (|h| + |k|)²: pairs whose midpoints are far need not be looked at. Where a feature has a
 * limit, midpoints farther apart than it have no acceptable exchange.
 */
class ExchangeSearch {
  private readonly costs: FeatureCosts;
  private readonly pairs: readonly (readonly [number, number])[];
  private readonly own: Float64Array;
  private readonly tree: PointTree;
  /** |h| of each pair, and the greatest below each node. */
  private readonly halves: Float64Array;
  private readonly greatest: Float64Array;
  private readonly stack = new Int32Array(128);

  constructor(costs: FeatureCosts, pairs: readonly (readonly [number, number])[]) {
    this.costs = costs;
    this.pairs = pairs;
    this.own = Float64Array.from(pairs, ([a, b]) => costs.costOf(a, b));
    const { dimensions, points } = costs.coordinates();
    const midpoints = new Float64Array(pairs.length * dimensions);
    this.halves = Float64Array.from(pairs, ([a, b], p) => {
      let squared = 0;
      for (let d = 0; d < dimensions; d++) {
        const [one, two] = [points[a * dimensions + d], points[b * dimensions + d]];
        midpoints[p * dimensions + d] = (one + two) / 2;
        squared += ((one - two) / 2) ** 2;
      }
      return Math.sqrt(squared);
    });
    this.tree = buildPointTree(dimensions, midpoints);
    this.greatest = greatestByNode(
      this.tree,
      Float64Array.from(this.tree.cellAt, (pair) => this.halves[pair]),
    );
  }

  bestOf(p: number): { other: number; crossed: boolean; increase: number } {
    const { tree, stack, halves, greatest } = this;
    const { left, right, from, to, cellAt, placeOf } = tree;
    const best = { other: -1, crossed: false, increase: Infinity };
    const place = placeOf[p];
    let depth = 1;
    stack[0] = 0;
    while (depth > 0) {
      const node = stack[--depth];
      const squared = this.squaredToBox(place, node);
      const reach = halves[p] + greatest[node];
      if (squared === Infinity || 2 * squared * (1 - 1e-9) - 2 * reach * reach - ROUNDING > best.increase)
        continue;
      if (left[node] === -1) {
        for (let i = from[node]; i < to[node]; i++) this.offer(p, cellAt[i], best);
        continue;
      }
      const isNearLeft = this.squaredToBox(place, left[node]) <= this.squaredToBox(place, right[node]);
      stack[depth++] = isNearLeft ? right[node] : left[node];
      stack[depth++] = isNearLeft ? left[node] : right[node];
    }
    return best;
  }

  private offer(p: number, q: number, best: { other: number; crossed: boolean; increase: number }): void {
    if (q === p) return;
    const { costs, pairs, own } = this;
    const [a, b] = pairs[p];
    const [c, d] = pairs[q];
    const now = own[p] + own[q];
    const straight = costs.costOf(a, c) + costs.costOf(b, d) - now;
    const crossed = costs.costOf(a, d) + costs.costOf(b, c) - now;
    const increase = Math.min(straight, crossed);
    if (increase === Infinity || increase > best.increase) return;
    if (increase === best.increase && q > best.other) return;
    best.other = q;
    best.crossed = crossed < straight;
    best.increase = increase;
  }

  /** Squared distance of a midpoint to a node's box; Infinity where it is beyond a limit. */
  private squaredToBox(place: number, node: number): number {
    const { dimensions, points, low, high } = this.tree;
    const { reach } = this.costs;
    let sum = 0;
    for (let d = 0; d < dimensions; d++) {
      const x = points[place * dimensions + d];
      const b = node * dimensions + d;
      const outside = x < low[b] ? low[b] - x : x > high[b] ? x - high[b] : 0;
      if (outside > reach[d]) return Infinity;
      sum += outside * outside;
    }
    return sum;
  }
}

/**
 * Standard uncertainty of Σ 2 w (a − d)(b − c): the exact variance of a product of two independent differences,
 * P² u_Q² + Q² u_P² + u_P² u_Q², which does not vanish where the differences do.
 */
function exchangeUncertainty(
  features: readonly LotFeature[],
  a: number,
  b: number,
  c: number,
  d: number,
): number | null {
  let variance = 0;
  for (const { values, standardUncertainties, importance, tolerance } of features) {
    if (importance === 0) continue;
    const [ua, ub, uc, ud] = [a, b, c, d].map((cell) => standardUncertainties[cell]);
    if (ua === null || ub === null || uc === null || ud === null) return null;
    const p = values[a] - values[d];
    const q = values[b] - values[c];
    const varianceP = ua ** 2 + ud ** 2;
    const varianceQ = ub ** 2 + uc ** 2;
    const product = p ** 2 * varianceQ + q ** 2 * varianceP + varianceP * varianceQ;
    variance += ((2 * importance) / tolerance ** 2) ** 2 * product;
  }
  return Math.sqrt(variance);
}
