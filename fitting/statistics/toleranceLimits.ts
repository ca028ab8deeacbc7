import { rootIn } from '../numeric/index.ts';
import { fProbability } from './distributions.ts';
import { checkSample, mean, standardDeviation } from './sample.ts';
import { oneSidedToleranceFactor, twoSidedToleranceFactor } from './toleranceFactor.ts';

export interface ToleranceLimits {
  /** Fraction of the population that lies within, and how sure that is; both 0…1. */
  readonly coverage: number;
  readonly confidence: number;
  /** In the unit of the values; null on a side that was not asked for or cannot be stated. */
  readonly lower: number | null;
  readonly upper: number | null;
  readonly reason: 'too-few-values' | 'no-spread' | null;
}

export interface ToleranceQuestion {
  readonly side: 'lower' | 'upper' | 'both';
  readonly coverage: number;
  readonly confidence: number;
}

/**
 * Statistical tolerance limits of a normal population: mean ± k·s with the exact factors of ISO 16269-6.
 *
 * @throws RangeError for fewer than 2 values or probabilities outside (0, 1)
 */
export function normalToleranceLimits(
  values: ArrayLike<number>,
  question: ToleranceQuestion,
): ToleranceLimits {
  checkSample(values, 2);
  const { side, coverage, confidence } = question;
  const s = standardDeviation(values);
  if (!(s > 0)) return { coverage, confidence, lower: null, upper: null, reason: 'no-spread' };
  const factor = side === 'both' ? twoSidedToleranceFactor : oneSidedToleranceFactor;
  const reach = factor(values.length, coverage, confidence) * s;
  const centre = mean(values);
  return {
    coverage,
    confidence,
    lower: side === 'upper' ? null : centre - reach,
    upper: side === 'lower' ? null : centre + reach,
    reason: null,
  };
}

/**
 * Tolerance limits without any assumption on the distribution: the r-th smallest and r-th largest value with the
 * greatest r that still holds `coverage` with `confidence`. What lies between two order statistics follows a beta
 * distribution (S. S. Wilks, Ann. Math. Stat. 12 (1941) 91; ISO 16269-6). `too-few-values` where not even the extremes do.
 *
 * @throws RangeError for fewer than 2 values or probabilities outside (0, 1)
 */
export function orderToleranceLimits(
  values: ArrayLike<number>,
  question: ToleranceQuestion,
): ToleranceLimits {
  checkSample(values, 2);
  const { side, coverage, confidence } = question;
  const rank = toleranceRank(values.length, question);
  if (rank === 0) return { coverage, confidence, lower: null, upper: null, reason: 'too-few-values' };
  const sorted = Float64Array.from(values).sort();
  return {
    coverage,
    confidence,
    lower: side === 'upper' ? null : sorted[rank - 1],
    upper: side === 'lower' ? null : sorted[sorted.length - rank],
    reason: null,
  };
}

/**
 * How far from the end(s) the order statistic of {@link orderToleranceLimits} lies; 1 is the extreme itself, 0 where
 * the sample is too small for the question.
 *
 * @throws RangeError for n below 1 or probabilities outside (0, 1)
 */
export function toleranceRank(n: number, { side, coverage, confidence }: ToleranceQuestion): number {
  if (!(Number.isInteger(n) && n >= 1)) throw new RangeError(`n must be a positive integer, got ${n}`);
  for (const [name, p] of Object.entries({ coverage, confidence })) {
    if (!(p > 0 && p < 1)) throw new RangeError(`${name} must lie between 0 and 1, got ${p}`);
  }
  const ends = side === 'both' ? 2 : 1;
  const holds = (rank: number): boolean => {
    const left = ends * rank;
    if (left > n) return false;
    return 1 - betaProbability(coverage, n - left + 1, left) >= confidence;
  };
  let [known, refused] = [0, Math.floor(n / ends) + 1];
  while (refused - known > 1) {
    const rank = (known + refused) >> 1;
    if (holds(rank)) known = rank;
    else refused = rank;
  }
  return known;
}

/**
 * The part of the population that lies between the extremes of a sample of n (or beyond its one extreme) with
 * `confidence`: the p with 1 − pⁿ = confidence, on both sides 1 − n pⁿ⁻¹ + (n − 1) pⁿ = confidence (Wilks, as above).
 *
 * @throws RangeError for n below 2 or a confidence outside (0, 1)
 */
export function coverageOfExtremes(
  n: number,
  { side, confidence }: Omit<ToleranceQuestion, 'coverage'>,
): number {
  if (!(Number.isInteger(n) && n >= 2)) throw new RangeError(`n must be an integer of at least 2, got ${n}`);
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence must lie between 0 and 1, got ${confidence}`);
  }
  if (side !== 'both') return (1 - confidence) ** (1 / n);
  return rootIn((p) => n * p ** (n - 1) - (n - 1) * p ** n - (1 - confidence), 0, 1);
}

/** P(B ≤ x) of a beta variable, by its relation to F: a(1 − B)/(bB) is F with 2b and 2a degrees of freedom. */
function betaProbability(x: number, a: number, b: number): number {
  return fProbability((b * x) / (a * (1 - x)), 2 * a, 2 * b);
}
