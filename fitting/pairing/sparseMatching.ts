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

/** Reads the odd sets with a value above zero from the blossoms, inner ones first. */
function readDual(state: MatchingState): DualSolution {
  const { count, parent, blossomDual, firstChild, nextSibling } = state;
  // Outer sets are met first; `around` is the innermost set met so far on the way down.
  const values: number[] = [];
  const parents: number[] = [];
  const setOfVertex = new Int32Array(count).fill(-1);
  const stack: [blossom: number, around: number][] = [];
  for (let v = 0; v < count; v++) {
    const top = state.top(v);
    if (parent[v] !== -1 && state.firstLeaf[top] === v) stack.push([top, -1]);
  }
  while (stack.length > 0) {
    const [blossom, around] = stack.pop()!;
    let set = around;
    if (blossomDual[blossom] > 0) {
      set = values.push(blossomDual[blossom]) - 1;
      parents.push(around);
    }
    const first = firstChild[blossom];
    let child = first;
    do {
      if (child >= count) stack.push([child, set]);
      else setOfVertex[child] = set;
      child = nextSibling[child];
    } while (child !== first);
  }
  const turned = (set: number) => (set === -1 ? -1 : values.length - 1 - set);
  return {
    leftOver: state.leftOver,
    vertexValues: state.dual.slice(),
    setOfVertex: setOfVertex.map(turned),
    parentOfSet: Int32Array.from(parents.reverse(), turned),
    setValues: Float64Array.from(values.reverse()),
  };
}
