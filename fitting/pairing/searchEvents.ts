import { INNER, type MatchingState, OUT, OUTER } from './matchingState.ts';

// What an event's payload means: kind + 3 × (vertex, half-edge or blossom).
export const REACH = 0;
export const MEET = 1;
export const OPEN = 2;

/**
 * Looks at every pair of a vertex that has just become outer: pairs to other outer nodes close at half speed, pairs
 * to the rest of the graph at full speed. The vertex's stored dual must already be that of an outer vertex.
 */
export function scanOuterVertex(state: MatchingState, u: number): void {
  const { graph, dual, place, reach, reachEdge, group, topOfGroup, heap } = state;
  const { start, head, weight } = graph;
  const own = group[u];
  const dualU = dual[u];
  for (let edge = start[u], end = start[u + 1]; edge < end; edge++) {
    const v = head[edge];
    const theirs = group[v];
    if (theirs === own) continue;
    const where = place[topOfGroup[theirs]];
    const key = weight[edge] - dualU;
    if (where === OUTER) {
      heap.push((key - dual[v]) / 2, MEET + 3 * edge);
    } else if (key < reach[v]) {
      if (reach[v] === Infinity) state.reached[state.reachedSize++] = v;
      reach[v] = key;
      reachEdge[v] = edge;
      if (where === OUT) heap.push(key - dual[v], REACH + 3 * v);
    }
  }
  const exposed = state.leftOver - dualU;
  if (exposed < state.exposeTime) {
    state.exposeTime = exposed;
    state.exposeVertex = u;
  }
}

/** Turns an out-of-tree top node into an outer one at time `now` and looks at the pairs of its vertices. */
export function becomeOuter(state: MatchingState, node: number, now: number): void {
  const { dual, blossomDual, firstLeaf, lastLeaf, nextLeaf, count } = state;
  state.enter(node, OUTER);
  if (node >= count) blossomDual[node] -= 2 * now;
  const last = lastLeaf[node];
  for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
    dual[v] -= now;
    if (v === last) break;
  }
  for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
    scanOuterVertex(state, v);
    if (v === last) break;
  }
}

/** Turns an out-of-tree top node into an inner one, entered by a half-edge from its outer parent. */
export function becomeInner(state: MatchingState, node: number, entry: number, now: number): void {
  const { dual, blossomDual, firstLeaf, lastLeaf, nextLeaf, count } = state;
  state.enter(node, INNER);
  state.entry[node] = entry;
  if (node >= count) {
    blossomDual[node] += 2 * now;
    state.heap.push(blossomDual[node] / 2, OPEN + 3 * node);
  }
  const last = lastLeaf[node];
  for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
    dual[v] += now;
    if (v === last) break;
  }
}

/** Ends a search at time `now`: dual values become plain again and every node leaves the tree. */
export function leaveTree(state: MatchingState, now: number): void {
  const { dual, blossomDual, place, parent, firstLeaf, lastLeaf, nextLeaf, treeNodes, count } = state;
  for (let i = 0; i < state.treeSize; i++) {
    const node = treeNodes[i];
    const where = place[node];
    if (where === OUT || parent[node] !== -1) continue;
    const change = where === OUTER ? now : -now;
    place[node] = OUT;
    if (node >= count) blossomDual[node] += 2 * change;
    const last = lastLeaf[node];
    for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
      dual[v] += change;
      if (v === last) break;
    }
  }
  for (let i = 0; i < state.reachedSize; i++) state.reach[state.reached[i]] = Infinity;
  state.treeSize = state.reachedSize = 0;
  state.exposeTime = Infinity;
  state.heap.clear();
}

/** Flips the path from an outer node up to the root after the node has found a new match. */
export function flipToRoot(state: MatchingState, outerNode: number, newMatch: number): void {
  const { match, entry, graph } = state;
  let node = outerNode;
  let chosen = newMatch;
  for (;;) {
    const old = match[node];
    match[node] = chosen;
    if (old < 0) return;
    const inner = state.top(graph.head[old]);
    const into = entry[inner];
    match[inner] = graph.reverse[into];
    node = state.top(graph.tail[into]);
    chosen = into;
  }
}
