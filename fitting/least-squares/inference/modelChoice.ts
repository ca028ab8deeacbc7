/** Why a criterion has no value. */
export type ChoiceReason = 'too-few-points' | 'zero-residual' | 'no-fit';

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
