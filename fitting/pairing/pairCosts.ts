/**
 * The whole-number cost of every pair of cells, as the matching, its pricing and its check see it.
 *
 * Whole numbers keep the arithmetic exact: with `count` cells and |cost| at most `largest`, every dual value stays
 * below 12 × count × (largest + 1), so `largest` may be at most 2^49 / count − 1, which leaves them below 2^53.
 */
export interface PairCosts {
  readonly count: number;
  /** Upper bound of |cost| over all acceptable pairs. */
  readonly largest: number;
  /** Whole-number cost of pairing two different cells; Infinity where the pair is not acceptable. */
  costOf(a: number, b: number): number;
  /** Writes the cost of pairing `a` with every b > a to `costs[b]`. */
  costsAfter(a: number, costs: Float64Array): void;
}

/** Costs of cells that are points, so that far pairs can be left out without looking at each. */
export interface PointCosts extends PairCosts {
  /** Whether some pair may be unacceptable. */
  readonly limited: boolean;
  /** A bound no cost of a pair at this squared distance, or further, lies below. */
  leastCost(squaredDistance: number): number;
  /** Coordinates of the cells, point by point. */
  coordinates(): { dimensions: number; points: Float64Array };
}

/** The largest |cost| for which the arithmetic of `count` cells is exact. */
export function largestExactCost(count: number): number {
  return Math.floor(2 ** 49 / Math.max(count, 2)) - 1;
}

/**
 * Price of leaving one cell over, in weights (twice the cost): no exchange of pairs among `count` cells can save as
 * much, so another pair is always worth it.
 */
export function leftOverPrice(costs: PairCosts): number {
  return 2 * costs.count * (costs.largest + 1);
}
