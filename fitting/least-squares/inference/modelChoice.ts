import { fProbability } from '../../statistics/distributions.ts';

/** Why a criterion has no value. */
export type ChoiceReason = 'too-few-points' | 'zero-residual' | 'not-nested' | 'no-fit';

export interface Criterion {
  readonly value: number | null;
  readonly reason: ChoiceReason | null;
}

/** A fit as model choice sees it. */
export interface Contender {
  readonly residualSumOfSquares: number | null;
  readonly points: number;
  /** Estimated parameters of the curve, the error variance not counted. */
  readonly freeParameters: number;
}

/**
 * AICc of a least-squares fit, n ln(S/n) + 2K + 2K(K + 1)/(n − K − 1), K = parameters + 1 for the variance
 * (Burnham and Anderson 2002, 2.4). Undefined for n ≤ K + 1 (`too-few-points`) and for S = 0
 * (`zero-residual`); only differences on the same data count.
 */
export function aicc(fit: Contender): Criterion {
  const { residualSumOfSquares: cost, points: n, freeParameters } = fit;
  const K = freeParameters + 1;
  if (cost === null || !Number.isFinite(cost)) return { value: null, reason: 'no-fit' };
  if (n <= K + 1) return { value: null, reason: 'too-few-points' };
  if (!(cost > 0)) return { value: null, reason: 'zero-residual' };
  return { value: n * Math.log(cost / n) + 2 * K + (2 * K * (K + 1)) / (n - K - 1), reason: null };
}

/** One model's place among its contenders. */
export interface Ranking extends Criterion {
  /** AICc above the best; null without a value. */
  readonly difference: number | null;
  /** Akaike weight, summing to 1 over those with a value. */
  readonly weight: number | null;
}

/** AICc differences and Akaike weights of models fitted to the same data, in their order. */
export function rankModels(fits: readonly Contender[]): Ranking[] {
  const criteria = fits.map(aicc);
  const values = criteria.flatMap((criterion) => (criterion.value === null ? [] : [criterion.value]));
  const best = Math.min(...values);
  const total = values.reduce((sum, value) => sum + Math.exp(-0.5 * (value - best)), 0);
  return criteria.map((criterion) => ({
    ...criterion,
    difference: criterion.value === null ? null : criterion.value - best,
    weight: criterion.value === null ? null : Math.exp(-0.5 * (criterion.value - best)) / total,
  }));
}

export interface NestedTest {
  readonly f: number | null;
  readonly numeratorDegrees: number;
  readonly denominatorDegrees: number;
  /** P(F ≥ f) where the smaller model is true. */
  readonly pValue: number | null;
  readonly reason: ChoiceReason | null;
}

/**
 * Extra-sum-of-squares F test of a model nested in a larger one, on the same data (Bates and Watts 1988,
 * 3.10).
 */
export function nestedF(smaller: Contender, larger: Contender): NestedTest {
  const numeratorDegrees = larger.freeParameters - smaller.freeParameters;
  const denominatorDegrees = larger.points - larger.freeParameters;
  const none = (reason: ChoiceReason): NestedTest => ({
    f: null,
    numeratorDegrees,
    denominatorDegrees,
    pValue: null,
    reason,
  });
  const [more, less] = [smaller.residualSumOfSquares, larger.residualSumOfSquares];
  if (more === null || less === null) return none('no-fit');
  if (smaller.points !== larger.points || numeratorDegrees <= 0) return none('not-nested');
  if (denominatorDegrees <= 0) return none('too-few-points');
  if (!(less > 0)) return none('zero-residual');
  const f = Math.max(0, (more - less) / numeratorDegrees / (less / denominatorDegrees));
  return {
    f,
    numeratorDegrees,
    denominatorDegrees,
    pValue: 1 - fProbability(f, numeratorDegrees, denominatorDegrees),
    reason: null,
  };
}
