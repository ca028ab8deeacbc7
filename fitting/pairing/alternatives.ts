import type { CommonSets } from './commonSets.ts';
import { type CostFeature, FeatureCosts } from './featureCosts.ts';
import { FeatureSource } from './featureSource.ts';
import { matchBest, pairsOf } from './provenMatching.ts';
import type { Matching } from './sparseMatching.ts';

/** A partner that a cell does not have, and what demanding it would cost. */
export interface AlternativePartner {
  readonly partner: number;
  /** Cost of that pair alone. */
  readonly cost: number;
  /** Total increase that demanding it brings at least, by the dual solution. */
  readonly increaseAtLeast: number;
  /** Exact total increase and pairs lost; null where it was not asked for. */
  readonly exact: { readonly increase: number; readonly pairsLost: number } | null;
}

/**
 * For one cell its cheapest acceptable partners besides the one it has. The reduced cost of a pair is what demanding
 * it adds at least; the exact figure comes from pairing all other cells again.
 *
 * @param each how many partners
 * @param exactly whether to pair again for each of them
 */
export function alternativePartners(
  costs: FeatureCosts,
  features: readonly CostFeature[],
  apart: readonly (readonly [number, number])[],
  matching: Matching,
  common: CommonSets,
  cell: number,
  each: number,
  exactly: boolean,
): AlternativePartner[] {
  const found: { partner: number; cost: number }[] = [];
  for (let b = 0; b < costs.count; b++) {
    if (b === cell || b === matching.partner[cell]) continue;
    const cost = costs.costOf(cell, b);
    if (cost !== Infinity) found.push({ partner: b, cost });
  }
  found.sort((a, b) => a.cost - b.cost || a.partner - b.partner);
  const { vertexValues } = matching.dual;
  return found.slice(0, each).map(({ partner, cost }) => {
    const reduced = 2 * cost - vertexValues[cell] - vertexValues[partner] + common.sumAround(cell, partner);
    return {
      partner,
      cost: cost * costs.resolution,
      increaseAtLeast: (reduced / 2) * costs.resolution,
      exact: exactly ? demandPair(costs, features, apart, matching, cell, partner) : null,
    };
  });
}

/** Pairs all other cells again and compares with the optimum. */
function demandPair(
  costs: FeatureCosts,
  features: readonly CostFeature[],
  apart: readonly (readonly [number, number])[],
  matching: Matching,
  a: number,
  b: number,
): { increase: number; pairsLost: number } {
  const total = (all: readonly (readonly [number, number])[]) =>
    all.reduce((sum, [one, two]) => sum + costs.costOf(one, two), 0) * costs.resolution;
  const now = pairsOf(matching.partner);
  const kept = Int32Array.from({ length: costs.count }, (_, i) => i).filter((i) => i !== a && i !== b);
  const place = new Map([...kept].map((cell, i) => [cell, i]));
  const others = new FeatureCosts(
    features.map((feature) => ({ ...feature, values: Float64Array.from(kept, (i) => feature.values[i]) })),
    apart.flatMap(([one, two]) => {
      const [p, q] = [place.get(one), place.get(two)];
      return p === undefined || q === undefined ? [] : [[p, q] as const];
    }),
  );
  const again = pairsOf(matchBest(new FeatureSource(others)).partner).map(
    ([one, two]) => [kept[one], kept[two]] as const,
  );
  return {
    increase: total([[a, b], ...again]) - total(now),
    pairsLost: now.length - again.length - 1,
  };
}
