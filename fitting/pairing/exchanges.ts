import type { FeatureCosts } from './featureCosts.ts';
import type { LotFeature } from './lotFeature.ts';

/** The best exchange of partners between a pair and one other pair. */
export interface PairExchange {
  /** Index of the other pair. */
  readonly other: number;
  /** The two pairs that would be instead. */
  readonly instead: readonly [readonly [number, number], readonly [number, number]];
  /** How much dearer the two would be together, in cost; at least 0 where the pairing is optimal. */
  readonly increase: number;
  /** Standard uncertainty of that increase; null where a value's uncertainty is unknown. */
  readonly standardUncertainty: number | null;
}

/**
 * For each pair the cheapest acceptable exchange of partners with one other pair, null where there is none. Each
 * partner change costs, per feature, 2 w (a − d)(b − c) more for pairs (a, b), (c, d) → (a, c), (b, d), with
 * w = importance / tolerance².
 */
export function bestExchanges(
  costs: FeatureCosts,
  features: readonly LotFeature[],
  pairs: readonly (readonly [number, number])[],
): (PairExchange | null)[] {
  const own = pairs.map(([a, b]) => costs.costOf(a, b));
  const best = pairs.map(() => ({ other: -1, crossed: false, increase: Infinity }));
  for (let p = 0; p < pairs.length; p++) {
    const [a, b] = pairs[p];
    for (let q = p + 1; q < pairs.length; q++) {
      const [c, d] = pairs[q];
      const now = own[p] + own[q];
      const straight = costs.costOf(a, c) + costs.costOf(b, d) - now;
      const crossed = costs.costOf(a, d) + costs.costOf(b, c) - now;
      const increase = Math.min(straight, crossed);
      for (const [one, other] of [
        [p, q],
        [q, p],
      ]) {
        if (increase < best[one].increase) best[one] = { other, crossed: crossed < straight, increase };
      }
    }
  }
  return best.map(({ other, crossed, increase }, p) => {
    if (other === -1 || increase === Infinity) return null;
    const [a, b] = pairs[p];
    const [c, d] = crossed ? [pairs[other][1], pairs[other][0]] : pairs[other];
    return {
      other,
      instead: [
        [a, c],
        [b, d],
      ] as const,
      increase: increase * costs.resolution,
      standardUncertainty: exchangeUncertainty(features, a, b, c, d),
    };
  });
}

/**
 * Standard uncertainty of Σ 2 w (a − d)(b − c): the exact variance of a product of two independent differences,
 * P² u_Q² + Q² u_P² + u_P² u_Q², which does not vanish where the differences do.
 */
function exchangeUncertainty(
  features: readonly LotFeature[],
  a: number,
  b: number,
  c: number,
  d: number,
): number | null {
  let variance = 0;
  for (const { values, standardUncertainties, importance, tolerance } of features) {
    if (importance === 0) continue;
    const [ua, ub, uc, ud] = [a, b, c, d].map((cell) => standardUncertainties[cell]);
    if (ua === null || ub === null || uc === null || ud === null) return null;
    const p = values[a] - values[d];
    const q = values[b] - values[c];
    const varianceP = ua ** 2 + ud ** 2;
    const varianceQ = ub ** 2 + uc ** 2;
    const product = p ** 2 * varianceQ + q ** 2 * varianceP + varianceP * varianceQ;
    variance += ((2 * importance) / tolerance ** 2) ** 2 * product;
  }
  return Math.sqrt(variance);
}
