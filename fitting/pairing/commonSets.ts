import type { DualSolution } from './sparseMatching.ts';

/**
 * Answers, for any two vertices, the sum of the values of the odd sets that hold both. The sets are laminar, so in an
 * order in which each set is one stretch that sum is the least of the sums between neighbours along the way: a range
 * minimum, looked up in a table of power-of-two stretches.
 */
export class CommonSets {
  /** Place of each vertex in that order. */
  readonly position: Int32Array;
  private readonly levels: Float64Array[];

  constructor(dual: DualSolution) {
    const count = dual.vertexValues.length;
    const { position, between } = layOut(dual);
    this.position = position;
    this.levels = [between];
    for (let width = 1; 2 * width <= count; width *= 2) {
      const below = this.levels[this.levels.length - 1];
      const level = new Float64Array(Math.max(0, below.length - width));
      for (let i = 0; i < level.length; i++) level[i] = Math.min(below[i], below[i + width]);
      this.levels.push(level);
    }
  }

  /** Sum of the values of all odd sets that hold both a and b. */
  sumAround(a: number, b: number): number {
    const one = this.position[a];
    const two = this.position[b];
    return one < two ? this.sumAlong(one, two) : this.sumAlong(two, one);
  }

  /** Sum of the values of all odd sets that hold the whole stretch of the order, first < last. */
  sumAlong(first: number, last: number): number {
    const level = 31 - Math.clz32(last - first);
    const row = this.levels[level];
    return Math.min(row[first], row[last - (1 << level)]);
  }
}

/** Order of the vertices, and `between[i]`: the sum around both the i-th and the next vertex of that order. */
function layOut(dual: DualSolution): { position: Int32Array; between: Float64Array } {
  const count = dual.vertexValues.length;
  const sets = dual.setValues.length;
  const sums = new Float64Array(sets);
  const children: number[][] = Array.from({ length: sets }, () => []);
  const roots: number[] = [];
  for (let s = sets - 1; s >= 0; s--) {
    const parent = dual.parentOfSet[s];
    sums[s] = dual.setValues[s] + (parent === -1 ? 0 : sums[parent]);
    (parent === -1 ? roots : children[parent]).push(s);
  }
  const members: number[][] = Array.from({ length: sets }, () => []);
  const position = new Int32Array(count);
  const between = new Float64Array(count);
  let next = 0;
  let least = 0;
  const place = (v: number, sum: number) => {
    if (next > 0) between[next - 1] = least;
    position[v] = next++;
    least = sum;
  };
  for (let v = 0; v < count; v++) {
    if (dual.setOfVertex[v] === -1) place(v, 0);
    else members[dual.setOfVertex[v]].push(v);
  }
  for (const root of roots) {
    const stack = [root];
    least = 0;
    while (stack.length > 0) {
      const set = stack.pop()!;
      // A set that is taken up again, or a sibling, shares no more than its parent's sum with what came before.
      const parent = dual.parentOfSet[set];
      least = Math.min(least, parent === -1 ? 0 : sums[parent]);
      for (const v of members[set]) place(v, sums[set]);
      stack.push(...children[set]);
    }
  }
  return { position, between };
}
