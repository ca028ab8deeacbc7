import { FeatureCosts } from './featureCosts.ts';
import { FeatureSource } from './featureSource.ts';
import type { LotFeature } from './lotFeature.ts';
import { matchBest, pairsOf } from './provenMatching.ts';

/** What all limits, multiplied by one factor, allow. */
export interface ToleranceStep {
  readonly factor: number;
  readonly pairs: number;
  readonly total: number;
  readonly worst: number | null;
}

/** Steps of the chart: from strict to generous. */
export const toleranceFactors = [0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 3, 4] as const;

/**
 * Number of pairs against the tolerance: every limit multiplied by each factor in turn. A feature without a limit is
 * held to its tolerance for this, so that the chart says something for criteria without hard limits as well.
 *
 * @param best the pairs of the least total, where they are known
 */
export function toleranceChart(
  features: readonly LotFeature[],
  apart: readonly (readonly [number, number])[],
  best: readonly (readonly [number, number])[] | null = null,
): ToleranceStep[] {
  let wider = features.every(({ limit }) => limit === Infinity) ? best : null;
  return [...toleranceFactors]
    .reverse()
    .map((factor) => {
      const limited = features.map((feature) => ({
        ...feature,
        limit: factor * (feature.limit === Infinity ? feature.tolerance : feature.limit),
      }));
      const costs = new FeatureCosts(limited, apart);
      // The best pairs under wider limits, where these allow them all, are the best under these too.
      const pairs: readonly (readonly [number, number])[] = wider?.every(([a, b]) => costs.isAcceptable(a, b))
        ? wider
        : pairsOf(matchBest(new FeatureSource(costs)).partner);
      wider = pairs;
      const prices = pairs.map(([a, b]) => costs.costOf(a, b));
      return {
        factor,
        pairs: prices.length,
        total: prices.reduce((sum, cost) => sum + cost, 0) * costs.resolution,
        worst:
          prices.length === 0 ? null : prices.reduce((most, cost) => Math.max(most, cost)) * costs.resolution,
      };
    })
    .reverse();
}
