import type { PairList } from '../../../fitting/pairing/candidateGraph.ts';
import { CommonSets } from '../../../fitting/pairing/commonSets.ts';
import type { PairCosts } from '../../../fitting/pairing/pairCosts.ts';
import { BestFew, type PairSource } from '../../../fitting/pairing/pairSource.ts';
import type { DualSolution } from '../../../fitting/pairing/sparseMatching.ts';

/** Looks at every pair of any cost, one by one. */
export class TableSource implements PairSource {
  readonly costs: PairCosts;

  constructor(costs: PairCosts) {
    this.costs = costs;
  }

  addNearest(pairs: PairList, each: number): void {
    const { count } = this.costs;
    const best = new BestFew(count, each);
    this.visit((a, b, cost) => {
      best.offer(a, b, cost);
      best.offer(b, a, cost);
    });
    best.addTo(pairs);
  }

  addViolated(pairs: PairList, dual: DualSolution, each: number): number {
    const { vertexValues } = dual;
    const common = new CommonSets(dual);
    const best = new BestFew(this.costs.count, each);
    this.visit((a, b, cost) => {
      let slack = 2 * cost - vertexValues[a] - vertexValues[b];
      if (slack >= 0) return;
      slack += common.sumAround(a, b);
      if (slack >= 0) return;
      best.offer(a, b, slack);
      best.offer(b, a, slack);
    });
    return best.addTo(pairs);
  }

  private visit(look: (a: number, b: number, cost: number) => void): void {
    const { count } = this.costs;
    const row = new Float64Array(count);
    for (let a = 0; a < count; a++) {
      this.costs.costsAfter(a, row);
      for (let b = a + 1; b < count; b++) if (row[b] !== Infinity) look(a, b, row[b]);
    }
  }
}
