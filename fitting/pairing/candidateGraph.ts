import type { PairCosts } from './pairCosts.ts';

/**
 * A sparse graph of acceptable pairs. Each pair is stored as two half-edges, one from either end, grouped by the
 * vertex they leave. Weights are twice the cost, so that dual values stay whole numbers.
 */
export interface CandidateGraph {
  readonly count: number;
  /** Half-edges that leave vertex v: from start[v] up to, not including, start[v + 1]. */
  readonly start: Int32Array;
  readonly tail: Int32Array;
  readonly head: Int32Array;
  /** The same pair seen from the other end. */
  readonly reverse: Int32Array;
  readonly weight: Float64Array;
}

/** A growing list of pairs without doubles. */
export class PairList {
  size = 0;
  first: Int32Array;
  second: Int32Array;
  private readonly known = new Set<number>();
  private readonly count: number;

  constructor(count: number, capacity: number) {
    this.count = count;
    this.first = new Int32Array(Math.max(16, capacity));
    this.second = new Int32Array(this.first.length);
  }

  /** Adds the pair; false where it was there already. */
  add(a: number, b: number): boolean {
    const key = a < b ? a * this.count + b : b * this.count + a;
    if (this.known.has(key)) return false;
    this.known.add(key);
    if (this.size === this.first.length) this.grow();
    this.first[this.size] = a;
    this.second[this.size++] = b;
    return true;
  }

  private grow(): void {
    const first = new Int32Array(2 * this.first.length);
    const second = new Int32Array(first.length);
    first.set(this.first);
    second.set(this.second);
    this.first = first;
    this.second = second;
  }
}

/** Groups the pairs by vertex and looks up their costs. Pairs must be acceptable. */
export function buildCandidateGraph(costs: PairCosts, pairs: PairList): CandidateGraph {
  const { count } = costs;
  const { first, second, size } = pairs;
  const start = new Int32Array(count + 1);
  for (let i = 0; i < size; i++) {
    start[first[i] + 1]++;
    start[second[i] + 1]++;
  }
  for (let v = 0; v < count; v++) start[v + 1] += start[v];
  const next = start.slice(0, count);
  const tail = new Int32Array(2 * size);
  const head = new Int32Array(2 * size);
  const reverse = new Int32Array(2 * size);
  const weight = new Float64Array(2 * size);
  for (let i = 0; i < size; i++) {
    const a = first[i];
    const b = second[i];
    const there = next[a]++;
    const back = next[b]++;
    tail[there] = head[back] = a;
    head[there] = tail[back] = b;
    reverse[there] = back;
    reverse[back] = there;
    weight[there] = weight[back] = 2 * costs.costOf(a, b);
  }
  return { count, start, tail, head, reverse, weight };
}
