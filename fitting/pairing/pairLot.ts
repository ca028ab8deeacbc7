import type { CertificateCheck } from './certificate.ts';
import { FeatureCosts } from './featureCosts.ts';
import { FeatureSource } from './featureSource.ts';
import { matchLeastWorst } from './leastWorstMatching.ts';
import type { LotFeature } from './lotFeature.ts';
import { matchBest, matchProvenBest, pairsOf } from './provenMatching.ts';
import type { Matching } from './sparseMatching.ts';

/** After as many pairs as possible: the least total cost, or the least worst pair and then the least total. */
export type PairingGoal = 'least-total' | 'least-worst-then-total';

/** Cells to be paired, by their features; pairs of indices that must not be. */
export interface LotToPair {
  readonly features: readonly LotFeature[];
  readonly apart: readonly (readonly [number, number])[];
  readonly goal: PairingGoal;
}

/** The best pairs of a lot and the proof. Costs are in the unit of the cost formula. */
export interface PairedLot {
  readonly costs: FeatureCosts;
  readonly matching: Matching;
  readonly pairs: readonly (readonly [number, number])[];
  readonly total: number;
  /** No pairing with as many pairs costs less (for the worst-pair goal: among those no worse at worst). */
  readonly lowerBound: number | null;
  /** Cost of the dearest pair; null without pairs. */
  readonly worst: number | null;
  /** For the worst-pair goal, the proven least cost of the dearest pair. */
  readonly worstLowerBound: number | null;
  readonly proven: boolean;
  readonly check: CertificateCheck;
}

/** Pairs a lot, proves it and states the result in costs. */
export function pairLot({ features, apart, goal }: LotToPair): PairedLot {
  const costs = new FeatureCosts(features, apart);
  const found =
    goal === 'least-total'
      ? { ...matchProvenBest(new FeatureSource(costs)), worst: null, worstProven: true }
      : matchLeastWorst(costs);
  const { partner, dual, check } = found;
  const pairs = pairsOf(partner);
  const worst = pairs.reduce((most, [a, b]) => Math.max(most, costs.costOf(a, b)), -1);
  return {
    costs,
    matching: { partner, dual },
    pairs,
    total: check.total * costs.resolution,
    lowerBound: check.lowerBound === null ? null : check.lowerBound * costs.resolution,
    worst: worst < 0 ? null : worst * costs.resolution,
    worstLowerBound: found.worst === null || !found.worstProven ? null : found.worst * costs.resolution,
    proven: check.proven && found.worstProven,
    check,
  };
}

/** The partners alone, without the proof: for repetitions whose answer is not shown by itself. */
export function partnersOf({ features, apart, goal }: LotToPair): Int32Array {
  const costs = new FeatureCosts(features, apart);
  return (goal === 'least-total' ? matchBest(new FeatureSource(costs)) : matchLeastWorst(costs)).partner;
}
