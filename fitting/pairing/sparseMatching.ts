import { matchAll } from './alternatingSearch.ts';
import { openAll } from './blossoms.ts';
import type { CandidateGraph } from './candidateGraph.ts';
import { startFractionally } from './fractionalStart.ts';
import { EXPOSED, MatchingState } from './matchingState.ts';

/**
 * Dual solution of a matching: a value per vertex and a laminar family of odd sets. Everything is in weights, which
 * are twice the costs.
 */
export interface DualSolution {
  /** Price of leaving a vertex over; no vertex value exceeds it. */
  readonly leftOver: number;
  readonly vertexValues: Float64Array;
  /** Index of the innermost odd set that holds each vertex, −1 for none. */
  readonly setOfVertex: Int32Array;
  /** Index of the next larger odd set around each odd set, −1 for none; always larger than its own index. */
  readonly parentOfSet: Int32Array;
  /** Value of each odd set, above zero. */
  readonly setValues: Float64Array;
}

/** Partner of each vertex, −1 where it is left over, and the dual solution that goes with it. */
export interface Matching {
  readonly partner: Int32Array;
  readonly dual: DualSolution;
}

/**
 * As many pairs as possible at the least total weight, on a sparse graph. Exact there; pairs outside the graph are
 * not looked at. Takes O(n m log n) at worst and about m log n where free vertices find a partner nearby.
 *
 * @param leftOver price of one vertex left over, in weights: above half the weight any exchange of pairs can save.
 */
export function matchSparseGraph(graph: CandidateGraph, leftOver: number): Matching {
  const state = new MatchingState(graph, leftOver);
  startFractionally(state);
  matchAll(state);
  const dual = readDual(state);
  openAll(state);
  const partner = new Int32Array(graph.count);
  for (let v = 0; v < graph.count; v++) {
    const edge = state.match[v];
    partner[v] = edge === EXPOSED ? -1 : graph.head[edge];
  }
  return { partner, dual };
}

/** Reads the odd sets with a value above zero, each before those around it. */
function readDual(state: MatchingState): DualSolution {
  const { count, parent, blossomDual } = state;
  const nodes = parent.length;
  const positive = (node: number): number => {
    let set = node;
    while (set !== -1 && blossomDual[set] === 0) set = parent[set];
    return set;
  };
  const innermost = new Int32Array(count);
  const leaves = new Map<number, number>();
  for (let v = 0; v < count; v++) {
    innermost[v] = parent[v] === -1 ? -1 : positive(parent[v]);
    if (innermost[v] !== -1) leaves.set(innermost[v], 0);
  }
  for (const set of [...leaves.keys()])
    for (let s = set; s !== -1; s = parent[s] === -1 ? -1 : positive(parent[s]))
      leaves.set(s, state.leaves[s]);
  const sets = [...leaves.keys()].sort((a, b) => leaves.get(a)! - leaves.get(b)! || a - b);
  const index = new Int32Array(nodes).fill(-1);
  sets.forEach((set, i) => {
    index[set] = i;
  });
  const indexOf = (set: number) => (set === -1 ? -1 : index[set]);
  return {
    leftOver: state.leftOver,
    vertexValues: state.dual.slice(),
    setOfVertex: innermost.map(indexOf),
    parentOfSet: Int32Array.from(sets, (set) => indexOf(parent[set] === -1 ? -1 : positive(parent[set]))),
    setValues: Float64Array.from(sets, (set) => blossomDual[set]),
  };
}
