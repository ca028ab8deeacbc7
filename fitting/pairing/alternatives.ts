import { CommonSets } from './commonSets.ts';
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

/** The paired lot whose alternatives are asked for. */
export interface PairedCells {
  readonly costs: FeatureCosts;
  readonly features: readonly CostFeature[];
  readonly apart: readonly (readonly [number, number])[];
  readonly matching: Matching;
}

/**
 * For each cell its cheapest acceptable partners besides the one it has. The reduced cost of a pair is what demanding
 * it adds at least; the exact figure comes from pairing all other cells again.
 *
 * @param each how many partners
 * @param exactly whether to pair again for each of them
 */
export function alternativePartners(
  lot: PairedCells,
  each: number,
  exactly: boolean,
): AlternativePartner[][] {
  const { costs, matching } = lot;
  const { vertexValues } = matching.dual;
  const common = new CommonSets(matching.dual);
  const known = new Map<number, AlternativePartner['exact']>();
  const demand = (a: number, b: number) => {
    const key = Math.min(a, b) * costs.count + Math.max(a, b);
    if (!known.has(key)) known.set(key, exactly ? demandPair(lot, a, b) : null);
    return known.get(key) ?? null;
  };
  const source = new FeatureSource(costs);
  return Array.from({ length: costs.count }, (_, cell) =>
    source.cheapestPartners(cell, each, matching.partner[cell]).map(({ partner, cost }) => ({
      partner,
      cost: cost * costs.resolution,
      increaseAtLeast:
        ((2 * cost - vertexValues[cell] - vertexValues[partner] + common.sumAround(cell, partner)) / 2) *
        costs.resolution,
      exact: demand(cell, partner),
    })),
  );
}

/** Pairs all other cells again and compares with the optimum. */
function demandPair(
  { costs, features, apart, matching }: PairedCells,
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
  return { increase: total([[a, b], ...again]) - total(now), pairsLost: now.length - again.length - 1 };
}
