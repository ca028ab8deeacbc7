import { EXPOSED, INNER, type MatchingState, OUT, OUTER } from './matchingState.ts';
import { OPEN, REACH, scanOuterVertex } from './searchEvents.ts';

/** Outer node above an outer node in the tree, or −1 at the root. */
function outerAbove(state: MatchingState, outer: number): number {
  const match = state.match[outer];
  if (match < 0) return -1;
  return state.top(state.graph.tail[state.entry[state.top(state.graph.head[match])]]);
}

/** The lowest outer node above (or equal to) both; both hang in one tree, so there is one. */
function meetingNode(state: MatchingState, a: number, b: number): number {
  const { mark } = state;
  const stamp = ++state.stamp;
  for (;;) {
    if (a !== -1) {
      if (mark[a] === stamp) return a;
      mark[a] = stamp;
      a = outerAbove(state, a);
    }
    if (b !== -1) {
      if (mark[b] === stamp) return b;
      mark[b] = stamp;
      b = outerAbove(state, b);
    }
  }
}

/** Children of the blossom that `edge` closes, in cyclic order from the meeting node, with the half-edges between. */
function cycleThrough(
  state: MatchingState,
  edge: number,
  meeting: number,
): { nodes: number[]; edges: number[] } {
  const { graph, match, entry } = state;
  const { head, tail, reverse } = graph;
  const nodes: number[] = [];
  const edges: number[] = [];
  for (let outer = state.top(tail[edge]); outer !== meeting; ) {
    const inner = state.top(head[match[outer]]);
    nodes.push(outer, inner);
    edges.push(reverse[match[outer]], entry[inner]);
    outer = state.top(tail[entry[inner]]);
  }
  nodes.push(meeting);
  nodes.reverse();
  edges.reverse();
  edges.push(edge);
  for (let outer = state.top(head[edge]); outer !== meeting; ) {
    const inner = state.top(head[match[outer]]);
    nodes.push(outer, inner);
    edges.push(match[outer], reverse[entry[inner]]);
    outer = state.top(tail[entry[inner]]);
  }
  return { nodes, edges };
}

/** Shrinks the odd cycle that a tight pair between two outer nodes closes into one outer blossom. */
export function formBlossom(state: MatchingState, edge: number, now: number): void {
  const { graph, blossomDual, place, firstLeaf, lastLeaf, nextLeaf, leaves, count } = state;
  const meeting = meetingNode(state, state.top(graph.tail[edge]), state.top(graph.head[edge]));
  const { nodes, edges } = cycleThrough(state, edge, meeting);
  const blossom = state.takeBlossom();
  let largest = nodes[0];
  for (const node of nodes) if (leaves[node] > leaves[largest]) largest = node;
  const ownGroup = state.groupOfNode[largest];
  state.groupOfNode[blossom] = ownGroup;
  state.topOfGroup[ownGroup] = blossom;
  state.firstChild[blossom] = meeting;
  state.firstLeaf[blossom] = firstLeaf[meeting];
  state.match[blossom] = state.match[meeting];
  blossomDual[blossom] = -2 * now;
  leaves[blossom] = 0;
  for (let i = 0; i < nodes.length; i++) {
    const node = nodes[i];
    const next = nodes[(i + 1) % nodes.length];
    state.parent[node] = blossom;
    state.nextSibling[node] = next;
    state.previousSibling[next] = node;
    state.siblingEdge[node] = edges[i];
    leaves[blossom] += leaves[node];
    if (i > 0) nextLeaf[lastLeaf[nodes[i - 1]]] = firstLeaf[node];
    if (node >= count) blossomDual[node] += place[node] === OUTER ? 2 * now : -2 * now;
    joinBlossom(state, node, ownGroup, now);
  }
  state.lastLeaf[blossom] = lastLeaf[nodes[nodes.length - 1]];
  state.enter(blossom, OUTER);
  for (const node of nodes) {
    if (place[node] !== INNER) continue;
    const last = lastLeaf[node];
    for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
      scanOuterVertex(state, v);
      if (v === last) break;
    }
  }
  for (const node of nodes) place[node] = OUT;
}

/** Makes the vertices of a new child outer ones of the blossom's group; their pairs are looked at later. */
function joinBlossom(state: MatchingState, node: number, ownGroup: number, now: number): void {
  const { dual, group, nextLeaf } = state;
  const change = state.place[node] === INNER ? 2 * now : 0;
  if (change === 0 && state.groupOfNode[node] === ownGroup) return;
  const last = state.lastLeaf[node];
  for (let v = state.firstLeaf[node]; ; v = nextLeaf[v]) {
    dual[v] -= change;
    group[v] = ownGroup;
    if (v === last) break;
  }
}

/** The child of a blossom that holds a vertex. */
function childHolding(state: MatchingState, blossom: number, v: number): number {
  let node = v;
  while (state.parent[node] !== blossom) node = state.parent[node];
  return node;
}

/** Gives the blossom's match to the child it starts from and matches the other children along the cycle. */
function matchChildren(state: MatchingState, blossom: number): number {
  const { graph, match, nextSibling, siblingEdge } = state;
  const outside = match[blossom];
  const vertex = outside >= 0 ? graph.tail[outside] : state.exposedVertex[blossom];
  const base = childHolding(state, blossom, vertex);
  match[base] = outside;
  if (outside === EXPOSED) state.exposedVertex[base] = vertex;
  for (let node = nextSibling[base]; node !== base; ) {
    const mate = nextSibling[node];
    match[node] = siblingEdge[node];
    match[mate] = graph.reverse[siblingEdge[node]];
    node = nextSibling[mate];
  }
  return base;
}

/** Makes the children of a blossom top nodes of their own and forgets the blossom. */
function releaseChildren(state: MatchingState, blossom: number): void {
  const { parent, firstLeaf, lastLeaf, nextLeaf, group, groupOfNode, topOfGroup, nextSibling } = state;
  const kept = groupOfNode[blossom];
  const first = state.firstChild[blossom];
  let node = first;
  do {
    parent[node] = -1;
    const own = groupOfNode[node];
    topOfGroup[own] = node;
    if (own !== kept) {
      const last = lastLeaf[node];
      for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
        group[v] = own;
        if (v === last) break;
      }
    }
    node = nextSibling[node];
  } while (node !== first);
  state.giveBlossom(blossom);
}

/**
 * Opens an inner blossom whose dual value has come down to zero. The children on the even way from its entry to its
 * match stay in the tree, the others leave it.
 */
export function openInnerBlossom(state: MatchingState, blossom: number, now: number): void {
  const { graph, dual, place, firstLeaf, lastLeaf, nextLeaf, match, siblingEdge, nextSibling } = state;
  const entry = state.entry[blossom];
  const base = matchChildren(state, blossom);
  const entered = childHolding(state, blossom, graph.head[entry]);
  const forward = match[entered] === siblingEdge[entered];
  place[blossom] = OUT;
  state.blossomDual[blossom] = 0;
  const first = state.firstChild[blossom];
  releaseChildren(state, blossom);
  const becomingOuter: number[] = [];
  keepInner(state, entered, entry, now);
  for (let node = entered; node !== base; ) {
    const outer = forward ? nextSibling[node] : state.previousSibling[node];
    const inner = forward ? nextSibling[outer] : state.previousSibling[outer];
    state.enter(outer, OUTER);
    becomingOuter.push(outer);
    keepInner(state, inner, forward ? siblingEdge[outer] : graph.reverse[siblingEdge[inner]], now);
    node = inner;
  }
  // Children that leave the tree keep what outer vertices could reach them by.
  for (let node = first, again = false; !again; ) {
    if (place[node] !== INNER) {
      const outer = place[node] === OUTER;
      const last = lastLeaf[node];
      if (outer && node >= state.count) state.blossomDual[node] -= 2 * now;
      for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
        dual[v] -= outer ? 2 * now : now;
        if (!outer && state.reach[v] !== Infinity) state.heap.push(state.reach[v] - dual[v], REACH + 3 * v);
        if (v === last) break;
      }
    }
    node = nextSibling[node];
    again = node === first;
  }
  for (const node of becomingOuter) {
    const last = lastLeaf[node];
    for (let v = firstLeaf[node]; ; v = nextLeaf[v]) {
      scanOuterVertex(state, v);
      if (v === last) break;
    }
  }
}

/** A child of an opened blossom that stays inner: its vertices' stored duals are right already. */
function keepInner(state: MatchingState, node: number, entry: number, now: number): void {
  state.enter(node, INNER);
  state.entry[node] = entry;
  if (node < state.count) return;
  state.blossomDual[node] += 2 * now;
  state.heap.push(state.blossomDual[node] / 2, OPEN + 3 * node);
}

/** Opens every blossom for good once all is matched, so that each vertex knows its own partner. */
export function openAll(state: MatchingState): void {
  const stack: number[] = [];
  for (let v = 0; v < state.count; v++) {
    const top = state.top(v);
    if (top < state.count) continue;
    stack.push(top);
    while (stack.length > 0) {
      const blossom = stack.pop()!;
      matchChildren(state, blossom);
      const first = state.firstChild[blossom];
      releaseChildren(state, blossom);
      let node = first;
      do {
        if (node >= state.count) stack.push(node);
        node = state.nextSibling[node];
      } while (node !== first);
    }
  }
}
