import type { PairCosts, PointCosts } from './pairCosts.ts';

/** The same costs, but pairs dearer than `cap` are not acceptable. With `counting`, all others cost nothing. */
export class CappedCosts implements PointCosts {
  readonly count: number;
  readonly largest: number;
  readonly limited = true;
  private readonly inner: PointCosts;
  private readonly cap: number;
  private readonly counting: boolean;

  constructor(inner: PointCosts, cap: number, counting: boolean) {
    this.count = inner.count;
    this.largest = counting ? 0 : Math.max(0, Math.min(inner.largest, cap));
    this.inner = inner;
    this.cap = cap;
    this.counting = counting;
  }

  costOf(a: number, b: number): number {
    const cost = this.inner.costOf(a, b);
    return cost > this.cap ? Infinity : this.counting ? 0 : cost;
  }

  costsAfter(a: number, costs: Float64Array): void {
    this.inner.costsAfter(a, costs);
    for (let b = a + 1; b < this.count; b++) {
      if (costs[b] > this.cap) costs[b] = Infinity;
      else if (this.counting) costs[b] = 0;
    }
  }

  leastCost(squaredDistance: number): number {
    const least = this.inner.leastCost(squaredDistance);
    return least > this.cap ? Infinity : this.counting ? 0 : least;
  }

  coordinates(): { dimensions: number; points: Float64Array } {
    return this.inner.coordinates();
  }
}

/** Cost of the dearest pair of a matching, −Infinity for none. */
export function worstCost(costs: PairCosts, partner: Int32Array): number {
  let worst = -Infinity;
  partner.forEach((b, a) => {
    if (b > a) worst = Math.max(worst, costs.costOf(a, b));
  });
  return worst;
}
