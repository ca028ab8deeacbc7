import type { FeatureCosts } from './featureCosts.ts';
import { FeatureSource } from './featureSource.ts';
import { matchBest, pairsOf } from './provenMatching.ts';

/** Stacks of `size` cells by a heuristic: good, not proven. */
export interface StackGroups {
  readonly groups: readonly (readonly number[])[];
  readonly leftOver: readonly number[];
  /** Sum over all pairs within each group. */
  readonly total: number;
  /** No grouping into as many stacks costs less. */
  readonly lowerBound: number;
}

/** Rounds of improvement after which the heuristic stops even if it could go on. */
const MOST_ROUNDS = 50;

/**
 * Groups of `size` ≥ 3 cells in series, in which every two must be acceptable: a cell far from the rest first, with
 * its nearest free partners, then cells exchanged between groups (and with left-over ones) as long as that lowers the
 * total. Groups in which two cells are not acceptable are given up at the end.
 *
 * Lower bound: every cell has size − 1 partners, so half the sum of its size − 1 cheapest costs, without the cells
 * that may be left over at most; for an even size and none left over, a group splits into size − 1 matchings, each
 * as dear as the best matching at least.
 */
export function groupStacks(costs: FeatureCosts, size: number): StackGroups {
  if (!Number.isInteger(size) || size < 3)
    throw new RangeError(`stacks of ${size}: a whole number from 3 up`);
  const { count } = costs;
  const table = denseCosts(costs);
  const wanted = Math.floor(count / size);
  const assigned = assignGreedily(table, count, size, wanted);
  improve(table, count, assigned);
  const groups: number[][] = Array.from({ length: wanted }, () => []);
  const leftOver: number[] = [];
  assigned.forEach((group, cell) => {
    if (group === -1) leftOver.push(cell);
    else groups[group].push(cell);
  });
  const sum = (group: readonly number[]) =>
    group.reduce(
      (all, a, i) => all + group.slice(i + 1).reduce((part, b) => part + table[a * count + b], 0),
      0,
    );
  const kept = groups.filter((group) => sum(group) < unacceptable(costs));
  for (const group of groups) if (!kept.includes(group)) leftOver.push(...group);
  return {
    groups: kept,
    leftOver: leftOver.sort((a, b) => a - b),
    total: kept.reduce((all, group) => all + sum(group), 0) * costs.resolution,
    lowerBound: lowerBound(costs, table, size, kept.length) * costs.resolution,
  };
}

/** Stands for an unacceptable pair: dearer than all others together, so that such pairs are moved away first. */
function unacceptable(costs: FeatureCosts): number {
  return costs.count * (costs.largest + 1);
}

function denseCosts(costs: FeatureCosts): Float64Array {
  const { count } = costs;
  const table = new Float64Array(count * count);
  const most = unacceptable(costs);
  for (let a = 0; a < count; a++)
    for (let b = a + 1; b < count; b++)
      table[a * count + b] = table[b * count + a] = Math.min(costs.costOf(a, b), most);
  return table;
}

function assignGreedily(table: Float64Array, count: number, size: number, wanted: number): Int32Array {
  const assigned = new Int32Array(count).fill(-1);
  const remoteness = Float64Array.from({ length: count }, (_, a) =>
    table.subarray(a * count, (a + 1) * count).reduce((sum, cost) => sum + cost, 0),
  );
  const seeds = [...remoteness.keys()].sort((a, b) => remoteness[b] - remoteness[a] || a - b);
  let group = 0;
  for (const seed of seeds) {
    if (group === wanted) break;
    if (assigned[seed] !== -1) continue;
    const members = [seed];
    assigned[seed] = group;
    while (members.length < size) {
      let nearest = -1;
      let least = Infinity;
      for (let cell = 0; cell < count; cell++) {
        if (assigned[cell] !== -1) continue;
        const cost = members.reduce((sum, member) => sum + table[member * count + cell], 0);
        if (cost < least) {
          least = cost;
          nearest = cell;
        }
      }
      assigned[nearest] = group;
      members.push(nearest);
    }
    group++;
  }
  return assigned;
}

/** Exchanges two cells of different groups, or a grouped and a left-over one, while that lowers the total. */
function improve(table: Float64Array, count: number, assigned: Int32Array): void {
  const groups = assigned.reduce((most, group) => Math.max(most, group), -1) + 1;
  // toGroup[cell × groups + g]: sum of the costs from the cell to the members of g.
  const toGroup = new Float64Array(count * groups);
  for (let a = 0; a < count; a++)
    for (let b = 0; b < count; b++)
      if (assigned[b] !== -1) toGroup[a * groups + assigned[b]] += table[a * count + b];
  const cost = (cell: number, group: number) => (group === -1 ? 0 : toGroup[cell * groups + group]);
  for (let round = 0, better = true; better && round < MOST_ROUNDS; round++) {
    better = false;
    for (let a = 0; a < count; a++) {
      for (let b = a + 1; b < count; b++) {
        const [g, h] = [assigned[a], assigned[b]];
        if (g === h) continue;
        const between = table[a * count + b];
        const gained = cost(a, g) + cost(b, h);
        // Each leaves its group, so the other's distance to it does not count.
        const paid = (h === -1 ? 0 : cost(a, h) - between) + (g === -1 ? 0 : cost(b, g) - between);
        if (!(paid < gained - 0.5)) continue;
        better = true;
        assigned[a] = h;
        assigned[b] = g;
        for (let cell = 0; cell < count; cell++) {
          const change = table[cell * count + b] - table[cell * count + a];
          if (g !== -1) toGroup[cell * groups + g] += change;
          if (h !== -1) toGroup[cell * groups + h] -= change;
        }
      }
    }
  }
}

function lowerBound(costs: FeatureCosts, table: Float64Array, size: number, groups: number): number {
  const { count } = costs;
  if (groups === 0) return 0;
  const each = Float64Array.from({ length: count }, (_, a) => {
    const row = Array.from({ length: count }, (_, b) => (b === a ? Infinity : table[a * count + b]));
    return (
      row
        .sort((x, y) => x - y)
        .slice(0, size - 1)
        .reduce((sum, cost) => sum + cost, 0) / 2
    );
  }).sort();
  const byNeighbours = each.slice(0, groups * size).reduce((sum, cost) => sum + cost, 0);
  if (size % 2 !== 0 || groups * size !== count) return byNeighbours;
  const { partner } = matchBest(new FeatureSource(costs));
  const matched = pairsOf(partner).reduce((sum, [a, b]) => sum + costs.costOf(a, b), 0);
  return Math.max(byNeighbours, (size - 1) * matched);
}
