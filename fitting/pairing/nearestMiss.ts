import type { CostFeature } from './featureCosts.ts';

/** The cheapest partner of a left-over cell if there were no limits, and the limits the pair would break. */
export interface NearestMiss {
  readonly partner: number;
  readonly cost: number;
  readonly exceeded: readonly {
    readonly feature: number;
    readonly difference: number;
    readonly limit: number;
  }[];
}

/** Differences of decimal numbers miss a limit by a rounding; as in the costs. */
const LIMIT_ROUNDING = 1e-9;

/**
 * Finds it by values alone, so that it also works for cells that were never offered.
 *
 * @param valuesOfCell one value per feature
 * @param candidates indices, in the features' values, of the cells that could be a partner
 * @returns null without candidates
 */
export function nearestMiss(
  features: readonly CostFeature[],
  valuesOfCell: readonly number[],
  candidates: Iterable<number>,
): NearestMiss | null {
  let partner = -1;
  let least = Infinity;
  for (const other of candidates) {
    const cost = features.reduce(
      (sum, { values, tolerance, importance }, f) =>
        sum + importance * ((values[other] - valuesOfCell[f]) / tolerance) ** 2,
      0,
    );
    if (cost < least) {
      least = cost;
      partner = other;
    }
  }
  if (partner === -1) return null;
  const exceeded = features.flatMap(({ values, limit }, feature) => {
    const difference = values[partner] - valuesOfCell[feature];
    return Math.abs(difference) > limit * (1 + LIMIT_ROUNDING) ? [{ feature, difference, limit }] : [];
  });
  return { partner, cost: least, exceeded };
}
