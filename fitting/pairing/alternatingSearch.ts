import { formBlossom, openInnerBlossom } from './blossoms.ts';
import { EXPOSED, FREE, INNER, type MatchingState, OUT } from './matchingState.ts';
import { becomeInner, becomeOuter, flipToRoot, leaveTree, MEET, OPEN } from './searchEvents.ts';

/**
 * Matches the free top node that holds `vertex`, or leaves one vertex of its tree over: grows one alternating tree,
 * event by event in the order of the dual change at which each pair becomes tight, shrinking odd cycles into
 * blossoms and opening inner blossoms whose dual value is used up. Where that takes a dual change above `limit` (a
 * whole number), it stops there; the dual values gained so far are kept.
 */
function matchFreeNode(state: MatchingState, vertex: number, limit: number): void {
  const { dual, blossomDual, place, reach, heap, match, parent } = state;
  const { head, tail, reverse } = state.graph;
  let now = 0;
  becomeOuter(state, state.top(vertex), 0);
  for (;;) {
    now = heap.earliest();
    // With nothing left to meet, waiting longer changes nothing: the tree leaves one vertex over.
    if (now > limit && now < Infinity && state.exposeTime > limit) {
      now = limit;
      break;
    }
    if (state.exposeTime <= now) {
      now = state.exposeTime;
      const outer = state.top(state.exposeVertex);
      state.exposedVertex[outer] = state.exposeVertex;
      flipToRoot(state, outer, EXPOSED);
      break;
    }
    const payload = heap.pop();
    const kind = payload % 3;
    const id = (payload - kind) / 3;
    if (kind === MEET) {
      if (state.top(tail[id]) !== state.top(head[id])) formBlossom(state, id, now);
    } else if (kind === OPEN) {
      const current = place[id] === INNER && parent[id] === -1 && blossomDual[id] / 2 === now;
      if (current) openInnerBlossom(state, id, now);
    } else {
      const reached = state.top(id);
      if (place[reached] !== OUT || reach[id] - dual[id] !== now) continue;
      const edge = state.reachEdge[id];
      if (match[reached] < 0) {
        match[reached] = reverse[edge];
        flipToRoot(state, state.top(tail[edge]), edge);
        break;
      }
      becomeInner(state, reached, edge, now);
      becomeOuter(state, state.top(head[match[reached]]), now);
    }
  }
  leaveTree(state, now);
}

/**
 * Matches everything that is still free. Short searches come first, for all free vertices, then ones twice as long:
 * two trees that have each grown half the way meet long before one has grown the whole way.
 */
export function matchAll(state: MatchingState): void {
  const { match, count, dual } = state;
  let free: number[] = [];
  let size = 0;
  for (let v = 0; v < count; v++) {
    if (match[v] === FREE) free.push(v);
    size += Math.abs(dual[v]);
  }
  for (let limit = Math.ceil(size / count / 8) + 1; free.length > 0; limit *= 2) {
    for (const v of free) if (match[state.top(v)] === FREE) matchFreeNode(state, v, limit);
    free = free.filter((v) => match[state.top(v)] === FREE);
  }
}
