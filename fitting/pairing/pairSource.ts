import type { PairList } from './candidateGraph.ts';
import type { PairCosts } from './pairCosts.ts';
import type { DualSolution } from './sparseMatching.ts';

/** Finds, among all acceptable pairs, those worth putting into the sparse graph. */
export interface PairSource {
  readonly costs: PairCosts;
  /** Adds for every cell the pairs with its `each` cheapest acceptable partners, and a few that join distant cells. */
  addNearest(pairs: PairList, each: number): void;
  /**
   * Prices every acceptable pair with the dual solution, adds for every cell its `each` most violated ones, and
   * returns how many were new. None violated: the sparse optimum is the optimum of the complete graph.
   */
  addViolated(pairs: PairList, dual: DualSolution, each: number): number;
}

/** For each cell the few pairs with the least key, in order. */
export class BestFew {
  readonly each: number;
  readonly sizes: Int32Array;
  readonly keys: Float64Array;
  readonly partners: Int32Array;

  constructor(count: number, each: number) {
    this.each = each;
    this.sizes = new Int32Array(count);
    this.keys = new Float64Array(count * each);
    this.partners = new Int32Array(count * each);
  }

  /** Key a new pair of the cell has to beat. */
  worst(cell: number): number {
    return this.sizes[cell] < this.each ? Infinity : this.keys[cell * this.each + this.each - 1];
  }

  offer(cell: number, partner: number, key: number): void {
    const { keys, partners, each } = this;
    const base = cell * each;
    let size = this.sizes[cell];
    if (size === each) {
      if (key >= keys[base + each - 1]) return;
      size--;
    }
    let hole = base + size;
    for (; hole > base && keys[hole - 1] > key; hole--) {
      keys[hole] = keys[hole - 1];
      partners[hole] = partners[hole - 1];
    }
    keys[hole] = key;
    partners[hole] = partner;
    this.sizes[cell] = size + 1;
  }

  /** Adds all pairs to the list and returns how many were new. */
  addTo(pairs: PairList): number {
    let added = 0;
    for (let cell = 0; cell < this.sizes.length; cell++)
      for (let i = 0; i < this.sizes[cell]; i++)
        if (pairs.add(cell, this.partners[cell * this.each + i])) added++;
    return added;
  }
}
