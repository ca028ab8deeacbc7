import type { RandomSource } from '../statistics/index.ts';
import type { CostFeature, FeatureCosts } from './featureCosts.ts';
import { greedyPairs, type Pairs, randomPairs, sortedNeighbourPairs } from './otherPairings.ts';

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
  const measure = (pairs: Pairs) => measurePairs(costs, features, pairs, physical);
  const rows: ComparedFigures[] = [{ method: 'optimum', feature: null, ...measure(optimum) }];
  if (randomRuns > 0) {
    const runs = Array.from({ length: randomRuns }, () => measure(randomPairs(costs.count, random)));
    rows.push({ method: 'random-mean', feature: null, ...summarise(runs, mean) });
    rows.push({ method: 'random-p95', feature: null, ...summarise(runs, percentile95) });
  }
  features.forEach(({ values, importance }, feature) => {
    if (importance > 0)
      rows.push({ method: 'sorted-neighbours', feature, ...measure(sortedNeighbourPairs(values)) });
  });
  if (costs.count <= GREEDY_MOST_CELLS)
    rows.push({ method: 'greedy', feature: null, ...measure(greedyPairs(costs)) });
  return rows;
}

function measurePairs(
  costs: FeatureCosts,
  features: readonly CostFeature[],
  pairs: Pairs,
  { capacityAh, resistanceOhm, chargeCurrentA }: PhysicalValues,
): PairingFigures {
  const over = (f: (a: number, b: number) => number) =>
    pairs.length === 0 ? null : mean(pairs.map(([a, b]) => f(a, b)));
  const resistance =
    resistanceOhm === null ? null : over((a, b) => Math.abs(resistanceOhm[a] - resistanceOhm[b]));
  return {
    pairs: pairs.length,
    totalCost: pairs.reduce((sum, [a, b]) => sum + unlimitedCost(features, a, b), 0),
    outsideLimits: pairs.filter(([a, b]) => costs.costOf(a, b) === Infinity).length,
    // Usable capacity of two cells levelled at one SOC is that of the smaller; half the difference is lost.
    meanCapacityLossAh:
      capacityAh === null ? null : over((a, b) => Math.abs(capacityAh[a] - capacityAh[b]) / 2),
    meanResistanceDifferenceOhm: resistance,
    meanVoltageDifferenceV:
      resistance === null || chargeCurrentA === null ? null : resistance * chargeCurrentA,
  };
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
