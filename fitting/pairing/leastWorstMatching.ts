import { CappedCosts, worstCost } from './cappedCosts.ts';
import { type CertificateCheck, checkCertificate } from './certificate.ts';
import { FeatureSource } from './featureSource.ts';
import type { PointCosts } from './pairCosts.ts';
import { matchBest, matchProvenBest, type ProvenMatching, pairsOf } from './provenMatching.ts';

/** A matching whose dearest pair is as cheap as can be, and its total the least among such. */
export interface LeastWorstMatching extends ProvenMatching {
  /** Cost of the dearest pair in whole-number units; null without pairs. */
  readonly worst: number | null;
  /** Check that no matching with as many pairs has a cheaper dearest pair; null without pairs. */
  readonly worstCheck: CertificateCheck | null;
  readonly worstProven: boolean;
}

/**
 * As many pairs as possible, then the least worst pair, then the least total. The worst cost is found by halving the
 * range of caps; at each the most pairs under the cap are counted. The proof is a dual solution of the counting problem just
 * below the cap, which shows that fewer pairs are possible there.
 */
export function matchLeastWorst(costs: PointCosts): LeastWorstMatching {
  const cheapest = matchBest(new FeatureSource(costs));
  const mostPairs = pairsOf(cheapest.partner).length;
  if (mostPairs === 0) {
    const check = checkCertificate(costs, cheapest);
    return { ...cheapest, check, worst: null, worstCheck: null, worstProven: check.proven };
  }
  let low = -1;
  let high = worstCost(costs, cheapest.partner);
  while (high - low > 1) {
    const cap = Math.floor((low + high) / 2);
    const { partner } = matchBest(new FeatureSource(new CappedCosts(costs, cap, true)));
    if (pairsOf(partner).length < mostPairs) low = cap;
    else high = worstCost(costs, partner);
  }
  const below = matchProvenBest(new FeatureSource(new CappedCosts(costs, high - 1, true)));
  const capped = new CappedCosts(costs, high, false);
  const best = matchProvenBest(new FeatureSource(capped));
  return {
    ...best,
    worst: high,
    worstCheck: below.check,
    worstProven: below.check.proven && below.check.pairs < mostPairs && best.check.pairs === mostPairs,
  };
}
