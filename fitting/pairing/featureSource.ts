import type { PairList } from './candidateGraph.ts';
import { CommonSets } from './commonSets.ts';
import type { PointCosts } from './pairCosts.ts';
import { BestFew, type PairSource } from './pairSource.ts';
import {
  buildPointTree,
  greatestByNode,
  type PointTree,
  squaredDistance,
  squaredDistanceToBox,
} from './pointTree.ts';
import type { DualSolution } from './sparseMatching.ts';

/** Finds pairs of cells that lie near each other in the space of their features, with a tree that leaves out the rest. */
export class FeatureSource implements PairSource {
  readonly costs: PointCosts;
  private readonly tree: PointTree;
  private readonly limited: boolean;

  constructor(costs: PointCosts) {
    const { dimensions, points } = costs.coordinates();
    this.costs = costs;
    this.tree = buildPointTree(dimensions, points);
    this.limited = costs.limited;
  }

  addNearest(pairs: PairList, each: number): void {
    const { tree, costs } = this;
    const { count, cellAt, from, to, left, right } = tree;
    const best = new BestFew(count, Math.min(each, Math.max(1, count - 1)));
    const stack = new Int32Array(128);
    const distances = new Float64Array(128);
    for (let place = 0; place < count; place++) {
      let depth = 1;
      stack[0] = 0;
      distances[0] = 0;
      while (depth > 0) {
        const node = stack[--depth];
        if (distances[depth] >= best.worst(place)) continue;
        if (left[node] !== -1) {
          const a = left[node];
          const b = right[node];
          const toA = squaredDistanceToBox(tree, place, a);
          const toB = squaredDistanceToBox(tree, place, b);
          const nearA = toA < toB || (toA === toB && place < to[a]);
          stack[depth] = nearA ? b : a;
          distances[depth++] = nearA ? toB : toA;
          stack[depth] = nearA ? a : b;
          distances[depth++] = nearA ? toA : toB;
          continue;
        }
        for (let other = from[node]; other < to[node]; other++) {
          if (other === place) continue;
          const squared = squaredDistance(tree, place, other);
          if (squared >= best.worst(place)) continue;
          if (this.limited && costs.costOf(cellAt[place], cellAt[other]) === Infinity) continue;
          best.offer(place, other, squared);
        }
      }
    }
    for (let place = 0; place < count; place++) {
      for (let i = 0; i < best.sizes[place]; i++)
        pairs.add(cellAt[place], cellAt[best.partners[place * best.each + i]]);
      // Neighbours in tree order join what would otherwise be islands.
      if (place > 0 && costs.costOf(cellAt[place - 1], cellAt[place]) !== Infinity)
        pairs.add(cellAt[place - 1], cellAt[place]);
    }
  }

  /**
   * The `each` cheapest acceptable partners of a cell besides one, cheapest first and the lower index of equal ones first.
   *
   * @param without a partner that is left out; −1 for none
   */
  cheapestPartners(cell: number, each: number, without: number): { partner: number; cost: number }[] {
    const { tree, costs } = this;
    const { cellAt, from, to, left, right } = tree;
    const place = tree.placeOf[cell];
    const found: { partner: number; cost: number }[] = [];
    const stack = [0];
    for (let node = stack.pop(); node !== undefined; node = stack.pop()) {
      const worst = found.length < each ? Infinity : found[each - 1].cost;
      if (costs.leastCost(squaredDistanceToBox(tree, place, node)) > worst) continue;
      if (left[node] !== -1) {
        const isNearLeft =
          squaredDistanceToBox(tree, place, left[node]) <= squaredDistanceToBox(tree, place, right[node]);
        stack.push(isNearLeft ? right[node] : left[node], isNearLeft ? left[node] : right[node]);
        continue;
      }
      for (let other = from[node]; other < to[node]; other++) {
        const partner = cellAt[other];
        if (other === place || partner === without) continue;
        const cost = costs.costOf(cell, partner);
        if (cost === Infinity) continue;
        let at = found.length;
        while (
          at > 0 &&
          (found[at - 1].cost > cost || (found[at - 1].cost === cost && found[at - 1].partner > partner))
        )
          at--;
        if (at === each) continue;
        found.splice(at, 0, { partner, cost });
        if (found.length > each) found.pop();
      }
    }
    return found;
  }

  addViolated(pairs: PairList, dual: DualSolution, each: number): number {
    const { tree, costs } = this;
    const { count, cellAt, from, to, left, right } = tree;
    const values = Float64Array.from(cellAt, (cell) => dual.vertexValues[cell]);
    const greatest = greatestByNode(tree, values);
    const common = new CommonSets(dual);
    const { earliest, latest } = stretchByNode(tree, common);
    const best = new BestFew(count, each);
    const stack = new Int32Array(128);
    for (let place = 0; place < count; place++) {
      const cell = cellAt[place];
      const own = values[place];
      const position = common.position[cell];
      let depth = 1;
      stack[0] = 0;
      while (depth > 0) {
        const node = stack[--depth];
        // Every pair is seen once, from its earlier place.
        if (to[node] <= place + 1) continue;
        const within = own + greatest[node];
        const least = 2 * costs.leastCost(squaredDistanceToBox(tree, place, node));
        if (least >= within) continue;
        const first = Math.min(position, earliest[node]);
        const last = Math.max(position, latest[node]);
        if (last > first && least + common.sumAlong(first, last) >= within) continue;
        if (left[node] !== -1) {
          stack[depth++] = left[node];
          stack[depth++] = right[node];
          continue;
        }
        for (let other = Math.max(from[node], place + 1); other < to[node]; other++) {
          const sum = own + values[other];
          if (2 * costs.leastCost(squaredDistance(tree, place, other)) >= sum) continue;
          const partner = cellAt[other];
          let slack = 2 * costs.costOf(cell, partner) - sum;
          if (slack >= 0) continue;
          slack += common.sumAround(cell, partner);
          if (slack >= 0) continue;
          best.offer(cell, partner, slack);
          best.offer(partner, cell, slack);
        }
      }
    }
    return best.addTo(pairs);
  }
}

/** Stretch, in the order of the odd sets, that the cells below each node lie in. */
function stretchByNode(tree: PointTree, common: CommonSets): { earliest: Int32Array; latest: Int32Array } {
  const { nodeCount, left, right, from, to, cellAt } = tree;
  const earliest = new Int32Array(nodeCount).fill(cellAt.length);
  const latest = new Int32Array(nodeCount).fill(-1);
  for (let node = nodeCount - 1; node >= 0; node--) {
    if (left[node] !== -1) {
      earliest[node] = Math.min(earliest[left[node]], earliest[right[node]]);
      latest[node] = Math.max(latest[left[node]], latest[right[node]]);
      continue;
    }
    for (let i = from[node]; i < to[node]; i++) {
      const position = common.position[cellAt[i]];
      if (position < earliest[node]) earliest[node] = position;
      if (position > latest[node]) latest[node] = position;
    }
  }
  return { earliest, latest };
}
