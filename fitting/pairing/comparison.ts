import type { RandomSource } from '../statistics/index.ts';
import type { CostFeature, FeatureCosts } from './featureCosts.ts';
import { greedyPairs, type Pairs, shuffle, sortedOrder } from './otherPairings.ts';

/** Lots above this size are not paired greedily for comparison: it looks at every pair at once. */
const GREEDY_MOST_CELLS = 3000;

/** What of the cells is known in physical units; null where no feature measures it. */
export interface PhysicalValues {
  readonly capacityAh: Float64Array | null;
  readonly resistanceOhm: Float64Array | null;
  readonly chargeCurrentA: number | null;
}

/** How one way of pairing comes out. Means are over its pairs; null where a value is not known or there is no pair. */
export interface PairingFigures {
  readonly pairs: number;
  readonly totalCost: number;
  readonly outsideLimits: number;
  readonly meanCapacityLossAh: number | null;
  readonly meanResistanceDifferenceOhm: number | null;
  readonly meanVoltageDifferenceV: number | null;
}

export type ComparedMethod = 'optimum' | 'random-mean' | 'random-p95' | 'sorted-neighbours' | 'greedy';
export interface ComparedFigures extends PairingFigures {
  readonly method: ComparedMethod;
  /** Index of the feature that was sorted by. */
  readonly feature: number | null;
}

/**
 * The optimum beside other ways of pairing the same cells: random (mean and 95th percentile of each figure over
 * `randomRuns`), neighbours in the order of each single feature, and greedy (for up to 3,000 cells).
 */
export function comparePairings(
  costs: FeatureCosts,
  features: readonly CostFeature[],
  optimum: Pairs,
  physical: PhysicalValues,
  randomRuns: number,
  random: RandomSource,
): ComparedFigures[] {
  const measure = (order: Int32Array) => measureOrder(costs, features, order, physical);
  const inOrder = (pairs: Pairs) => Int32Array.from(pairs.flat());
  const rows: ComparedFigures[] = [{ method: 'optimum', feature: null, ...measure(inOrder(optimum)) }];
  if (randomRuns > 0) {
    const order = new Int32Array(costs.count);
    const runs = Array.from({ length: randomRuns }, () => measure(shuffle(order, random)));
    rows.push({ method: 'random-mean', feature: null, ...summarise(runs, mean) });
    rows.push({ method: 'random-p95', feature: null, ...summarise(runs, percentile95) });
  }
  features.forEach(({ values, importance }, feature) => {
    if (importance > 0) rows.push({ method: 'sorted-neighbours', feature, ...measure(sortedOrder(values)) });
  });
  if (costs.count <= GREEDY_MOST_CELLS)
    rows.push({ method: 'greedy', feature: null, ...measure(inOrder(greedyPairs(costs))) });
  return rows;
}

/** Each cell of the order with the one after it; sums go in that order. Usable capacity is that of the smaller cell. */
function measureOrder(
  costs: FeatureCosts,
  features: readonly CostFeature[],
  order: Int32Array,
  { capacityAh, resistanceOhm, chargeCurrentA }: PhysicalValues,
): PairingFigures {
  const pairs = order.length >> 1;
  let totalCost = 0;
  let outsideLimits = 0;
  for (let i = 0; i < 2 * pairs; i += 2) {
    totalCost += unlimitedCost(features, order[i], order[i + 1]);
    if (!costs.isAcceptable(order[i], order[i + 1])) outsideLimits++;
  }
  // Two cells are levelled at one SOC, so half the difference of their capacities is lost.
  const loss = capacityAh === null ? null : meanDifference(capacityAh, order, 2);
  const resistance = resistanceOhm === null ? null : meanDifference(resistanceOhm, order, 1);
  return {
    pairs,
    totalCost,
    outsideLimits,
    meanCapacityLossAh: loss,
    meanResistanceDifferenceOhm: resistance,
    meanVoltageDifferenceV:
      resistance === null || chargeCurrentA === null ? null : resistance * chargeCurrentA,
  };
}

/** Mean of the differences within the pairs of an order, each divided; null without pairs. */
function meanDifference(values: Float64Array, order: Int32Array, divisor: number): number | null {
  const pairs = order.length >> 1;
  let sum = 0;
  for (let i = 0; i < 2 * pairs; i += 2) sum += Math.abs(values[order[i]] - values[order[i + 1]]) / divisor;
  return pairs === 0 ? null : sum / pairs;
}

function unlimitedCost(features: readonly CostFeature[], a: number, b: number): number {
  let sum = 0;
  for (const { values, tolerance, importance } of features)
    sum += importance * ((values[a] - values[b]) / tolerance) ** 2;
  return sum;
}

function summarise(runs: readonly PairingFigures[], of: (values: number[]) => number): PairingFigures {
  const figure = (name: 'meanCapacityLossAh' | 'meanResistanceDifferenceOhm' | 'meanVoltageDifferenceV') => {
    const values = runs.map((run) => run[name]).filter((value): value is number => value !== null);
    return values.length === 0 ? null : of(values);
  };
  return {
    pairs: runs[0].pairs,
    totalCost: of(runs.map((run) => run.totalCost)),
    outsideLimits: of(runs.map((run) => run.outsideLimits)),
    meanCapacityLossAh: figure('meanCapacityLossAh'),
    meanResistanceDifferenceOhm: figure('meanResistanceDifferenceOhm'),
    meanVoltageDifferenceV: figure('meanVoltageDifferenceV'),
  };
}

const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

/** The smallest value that at least 95 % of the values do not exceed. */
function percentile95(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.ceil(0.95 * sorted.length) - 1];
}
