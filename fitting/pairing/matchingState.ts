import type { CandidateGraph } from './candidateGraph.ts';
import { EventHeap } from './eventHeap.ts';

/** No half-edge: a node that still has to be matched. */
export const FREE = -1;
/** A node that is left over on purpose, at the price `leftOver`. */
export const EXPOSED = -2;

/** Where a node stands in the tree of the search that is running. */
export const OUT = 0;
export const OUTER = 1;
export const INNER = 2;

/**
 * Everything the primal-dual search works on. Nodes are vertices (0 … count − 1) and, above them, blossoms: odd sets
 * that currently act as one node. Source of the method: Edmonds, Canad. J. Math. 17 (1965) 449; Galil, ACM Comput.
 * Surv. 18 (1986) 23.
 *
 * Dual values: `dual[v]` of a vertex and `blossomDual[b]` ≥ 0 of a blossom satisfy, for every pair,
 * weight − dual[u] − dual[v] + Σ blossomDual of the blossoms that hold both ≥ 0, and dual[v] ≤ leftOver. While a
 * search runs, time `now` grows: outer vertices gain it and inner vertices lose it, so outer ones are stored minus
 * their entry time and inner ones plus it; outer blossoms gain and inner blossoms lose twice as much.
 */
export class MatchingState {
  readonly graph: CandidateGraph;
  readonly count: number;
  /** Price of leaving one vertex over, in weights; so high that another pair is always worth it. */
  readonly leftOver: number;
  readonly dual: Float64Array;
  readonly blossomDual: Float64Array;
  /** Half-edge by which a top node is matched (it leaves the node), or FREE or EXPOSED. */
  readonly match: Int32Array;
  /** Vertex of an exposed blossom that is left over. */
  readonly exposedVertex: Int32Array;
  readonly place: Uint8Array;
  /** Half-edge from the outer parent into an inner node. */
  readonly entry: Int32Array;

  readonly parent: Int32Array;
  readonly nextSibling: Int32Array;
  readonly previousSibling: Int32Array;
  /** Half-edge from a child of a blossom to its next sibling. */
  readonly siblingEdge: Int32Array;
  readonly firstChild: Int32Array;

  /** Vertices below a node form a stretch of one linked list. */
  readonly firstLeaf: Int32Array;
  readonly lastLeaf: Int32Array;
  readonly nextLeaf: Int32Array;
  readonly leaves: Int32Array;
  /** Group number of each vertex, and of each node; the top node of a group is `topOfGroup`. */
  readonly group: Int32Array;
  readonly groupOfNode: Int32Array;
  readonly topOfGroup: Int32Array;

  /** Least (weight − stored dual of the outer end) of half-edges from outer vertices to a vertex, and which. */
  readonly reach: Float64Array;
  readonly reachEdge: Int32Array;
  readonly reached: Int32Array;
  reachedSize = 0;
  treeNodes: Int32Array;
  treeSize = 0;
  readonly mark: Int32Array;
  stamp = 0;
  readonly heap: EventHeap;
  /** Earliest time at which an outer vertex may be left over instead, and which. */
  exposeTime = Infinity;
  exposeVertex = -1;

  private readonly spare: Int32Array;
  private spareSize: number;

  constructor(graph: CandidateGraph, leftOver: number) {
    const { count } = graph;
    const nodes = count + (count >> 1) + 1;
    const ids = () => new Int32Array(nodes).fill(-1);
    this.graph = graph;
    this.count = count;
    this.leftOver = leftOver;
    this.dual = new Float64Array(count);
    this.blossomDual = new Float64Array(nodes);
    this.match = ids();
    this.exposedVertex = ids();
    this.place = new Uint8Array(nodes);
    this.entry = ids();
    this.parent = ids();
    this.nextSibling = ids();
    this.previousSibling = ids();
    this.siblingEdge = ids();
    this.firstChild = ids();
    this.firstLeaf = ids();
    this.lastLeaf = ids();
    this.nextLeaf = new Int32Array(count).fill(-1);
    this.leaves = new Int32Array(nodes);
    this.group = new Int32Array(count);
    this.groupOfNode = ids();
    this.topOfGroup = new Int32Array(count);
    for (let v = 0; v < count; v++) {
      this.firstLeaf[v] = this.lastLeaf[v] = v;
      this.group[v] = this.groupOfNode[v] = this.topOfGroup[v] = v;
      this.leaves[v] = 1;
    }
    this.reach = new Float64Array(count).fill(Infinity);
    this.reachEdge = new Int32Array(count);
    this.reached = new Int32Array(count);
    this.treeNodes = new Int32Array(Math.max(64, count));
    this.mark = new Int32Array(nodes);
    this.heap = new EventHeap(graph.head.length + 64);
    this.spare = new Int32Array(nodes - count);
    for (let i = 0; i < this.spare.length; i++) this.spare[i] = nodes - 1 - i;
    this.spareSize = this.spare.length;
  }

  /** The outermost blossom that holds v, or v itself. */
  top(v: number): number {
    return this.topOfGroup[this.group[v]];
  }

  takeBlossom(): number {
    return this.spare[--this.spareSize];
  }

  giveBlossom(b: number): void {
    this.spare[this.spareSize++] = b;
  }

  /** Puts a top node into the tree and remembers it for the clean-up. */
  enter(node: number, place: number): void {
    this.place[node] = place;
    if (this.treeSize === this.treeNodes.length) {
      const wider = new Int32Array(2 * this.treeNodes.length);
      wider.set(this.treeNodes);
      this.treeNodes = wider;
    }
    this.treeNodes[this.treeSize++] = node;
  }
}
