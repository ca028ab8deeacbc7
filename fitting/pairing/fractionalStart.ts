import { EXPOSED, FREE, type MatchingState, OUT } from './matchingState.ts';
import { becomeInner, becomeOuter, flipToRoot, leaveTree, MEET } from './searchEvents.ts';

/**
 * A start that leaves little to do: the optimal half-integral matching, in which every vertex is matched wholly or
 * lies on an odd cycle of half pairs. It needs no blossoms, its dual values are feasible, and each odd cycle then
 * gives one vertex to be matched by the full search. Source: the well-known reduction to bipartite matching
 * (Balinski, 1965; from memory).
 */
export function startFractionally(state: MatchingState): void {
  startGreedily(state);
  const { match, count } = state;
  const cycleEdge = new Int32Array(count).fill(-1);
  for (let v = 0; v < count; v++) if (match[v] === FREE && cycleEdge[v] === -1) search(state, v, cycleEdge);
  for (let v = 0; v < count; v++) if (cycleEdge[v] !== -1) breakCycle(state, v, cycleEdge);
}

/** Half of each vertex's least weight, then each vertex raised until it meets a neighbour. */
function startGreedily(state: MatchingState): void {
  const { graph, dual, match, count, leftOver } = state;
  const { start, head, reverse, weight } = graph;
  for (let v = 0; v < count; v++) {
    let least = Infinity;
    for (let edge = start[v]; edge < start[v + 1]; edge++) least = Math.min(least, weight[edge]);
    if (least === Infinity) {
      dual[v] = leftOver;
      match[v] = EXPOSED;
    } else dual[v] = least / 2;
  }
  for (let v = 0; v < count; v++) {
    if (match[v] !== FREE) continue;
    let least = Infinity;
    let tight = -1;
    for (let edge = start[v]; edge < start[v + 1]; edge++) {
      const slack = weight[edge] - dual[v] - dual[head[edge]];
      if (slack < least || (slack === least && match[head[edge]] === FREE)) {
        least = slack;
        tight = edge;
      }
    }
    dual[v] += least;
    if (match[head[tight]] === FREE) {
      match[v] = tight;
      match[head[tight]] = reverse[tight];
    }
  }
}

/** Grows one tree from a free vertex until it is matched, left over, or lies on an odd cycle of half pairs. */
function search(state: MatchingState, root: number, cycleEdge: Int32Array): void {
  const { graph, dual, match, place, reach, heap } = state;
  const { head, tail, reverse } = graph;
  becomeOuter(state, root, 0);
  let now = 0;
  for (;;) {
    now = heap.earliest();
    if (state.exposeTime <= now) {
      now = state.exposeTime;
      flipToRoot(state, state.exposeVertex, EXPOSED);
      break;
    }
    const payload = heap.pop();
    const id = Math.floor(payload / 3);
    if (payload % 3 === MEET) {
      // Both ends are outer and one tree has one root, so this closes an odd cycle.
      closeCycle(state, id, cycleEdge);
      break;
    }
    if (place[id] !== OUT || reach[id] - dual[id] !== now) continue;
    const edge = state.reachEdge[id];
    if (match[id] < 0) {
      if (cycleEdge[id] !== -1) breakCycle(state, id, cycleEdge);
      match[id] = reverse[edge];
      flipToRoot(state, tail[edge], edge);
      break;
    }
    becomeInner(state, id, edge, now);
    becomeOuter(state, head[match[id]], now);
  }
  leaveTree(state, now);
}

/** Makes the odd cycle through `edge` one of half pairs and matches the stem above it. */
function closeCycle(state: MatchingState, edge: number, cycleEdge: Int32Array): void {
  const { graph, match, entry, mark } = state;
  const { head, tail, reverse } = graph;
  const stamp = ++state.stamp;
  const above = (outer: number) => tail[entry[head[match[outer]]]];
  let meeting = tail[edge];
  for (; ; meeting = above(meeting)) {
    mark[meeting] = stamp;
    if (match[meeting] === FREE) break;
  }
  meeting = head[edge];
  while (mark[meeting] !== stamp) meeting = above(meeting);
  // Down from the meeting vertex to the tail, across the edge, and up again to the meeting vertex.
  for (let outer = tail[edge]; outer !== meeting; outer = above(outer)) {
    const inner = head[match[outer]];
    cycleEdge[inner] = reverse[match[outer]];
    cycleEdge[tail[entry[inner]]] = entry[inner];
  }
  cycleEdge[tail[edge]] = edge;
  for (let outer = head[edge]; outer !== meeting; outer = above(outer)) {
    const inner = head[match[outer]];
    cycleEdge[outer] = match[outer];
    cycleEdge[inner] = reverse[entry[inner]];
  }
  flipToRoot(state, meeting, FREE);
  for (let v = head[cycleEdge[meeting]]; v !== meeting; v = head[cycleEdge[v]]) match[v] = FREE;
}

/** Matches an odd cycle of half pairs in whole pairs, all but `free`. */
function breakCycle(state: MatchingState, free: number, cycleEdge: Int32Array): void {
  const { match, graph } = state;
  const { head, reverse } = graph;
  let v = head[cycleEdge[free]];
  cycleEdge[free] = -1;
  match[free] = FREE;
  while (v !== free) {
    const edge = cycleEdge[v];
    const mate = head[edge];
    const after = head[cycleEdge[mate]];
    match[v] = edge;
    match[mate] = reverse[edge];
    cycleEdge[v] = cycleEdge[mate] = -1;
    v = after;
  }
}
