import { MAD_TO_STANDARD_DEVIATION, medianOf } from '../numeric/index.ts';
import { printedStep } from '../records/index.ts';
import { fitExponentialLinear } from './exponentialLaw.ts';
import { type AgeingModelName, type LawFit, varianceInflation } from './lawFit.ts';
import { type AgeingPoints, ageingPoints } from './points.ts';
import { fitPower } from './powerLaw.ts';
import { fitThreeSlope, fitTwoSlope } from './slopeLaws.ts';
import { fitLinear, fitSquareRoot } from './straightLaws.ts';

/** How each model is fitted and how many parameters it has (without the residual variance). */
export const AGEING_MODELS: Readonly<
  Record<AgeingModelName, { readonly fit: (points: AgeingPoints) => LawFit; readonly parameters: number }>
> = {
  linear: { fit: fitLinear, parameters: 2 },
  'square-root': { fit: fitSquareRoot, parameters: 2 },
  power: { fit: fitPower, parameters: 3 },
  'exponential-linear': { fit: fitExponentialLinear, parameters: 4 },
  'two-slope': { fit: fitTwoSlope, parameters: 5 },
  'three-slope': { fit: fitThreeSlope, parameters: 7 },
};

/** All names, from the simplest to the richest. */
export const AGEING_MODEL_NAMES = Object.keys(AGEING_MODELS) as AgeingModelName[];

/** One model of a comparison; `fit` and `aicc` are null with a reason. */
export interface ModelCandidate {
  readonly name: AgeingModelName;
  readonly fit: LawFit | null;
  readonly aicc: number | null;
  /** Difference to the least AICc of the comparison. */
  readonly deltaAicc: number | null;
  /** Akaike weight. */
  readonly weight: number | null;
  readonly reason: 'too-few-points' | 'not-converged' | 'not-identifiable' | null;
}

/** All models on one series. */
export interface ModelComparison {
  readonly candidates: readonly ModelCandidate[];
  readonly chosen: LawFit | null;
  /** Huber weights used for all models alike; null: all 1. */
  readonly weights: Float64Array | null;
  /** ĉ of the ranking: the variance inflation of the model of the least plain AICc. */
  readonly inflation: number;
}

/** Huber's constant for 95 % efficiency on normal errors (P. J. Huber, Robust Statistics, 1981). */
const HUBER = 1.345;
/** Residuals below this share of the level are rounding: they earn a model no credit. */
const ROUNDING_SHARE = 1e-10;
/** Residuals below this share of the readings' step say nothing of their scatter. */
const HIDDEN_SHARE = 0.03;

/**
 * Fits every model and ranks them by AICc = n ln(S/n)/ĉ + 2K + 2K(K+1)/(n − K − 1), K with the residual variance. ĉ, the variance
 * inflation of the best model's residuals, is 1 where they are independent; where neighbours err alike (recovery after rests) it
 * keeps a model from being rewarded for following each bump (quasi-likelihood form of Burnham and Anderson, Model Selection and
 * Multimodel Inference, 2002, 2.5).
 *
 * Robust: the best model of a first round gives Huber weights from its residuals (scale from their median absolute
 * value); then all models are fitted again with these same weights, so that their AICc can be compared.
 *
 * @param names models to try; default all
 * @param robust default true
 */
export function fitAgeingModels(
  points: AgeingPoints,
  names: readonly AgeingModelName[] = AGEING_MODEL_NAMES,
  robust = true,
): ModelComparison {
  const first = compare(points, names);
  const leader = leaderOf(points, first);
  const step = printedStep(points.y);
  if (leader !== null && (leader.fit.residualSd ?? 0) < HIDDEN_SHARE * step) {
    // All readings lie on the grid of their steps, as if exact: they are spread by what those steps hide.
    const hidden = step / Math.sqrt(12);
    const spread = ageingPoints(
      points.x,
      points.y.map((value, i) => value + (i % 4 === 0 || i % 4 === 3 ? hidden : -hidden)),
    );
    return finish(spread, compare(spread, names), null);
  }
  if (!robust || leader === null) return finish(points, first, null);
  const weights = huberWeights(residualsOf(leader, points));
  if (weights === null) return finish(points, first, null);
  const weighted = ageingPoints(points.x, points.y, weights);
  return finish(weighted, compare(weighted, names), weights);
}

/** y − curve at every point. */
export function residualsOf(fit: LawFit, points: AgeingPoints): Float64Array {
  return points.y.map((value, i) => value - fit.value(points.x[i]));
}

/** Weights min(1, 1.345 s/|r|); null where no residual stands out or the fit is exact. */
function huberWeights(residuals: Float64Array): Float64Array | null {
  const scale = MAD_TO_STANDARD_DEVIATION * medianOf(residuals.map(Math.abs));
  if (!(scale > 0)) return null;
  return residuals.map((r) => Math.min(1, (HUBER * scale) / Math.abs(r)));
}

interface Ranked {
  readonly name: AgeingModelName;
  readonly law: LawFit | null;
  readonly parameters: number;
  readonly reason: ModelCandidate['reason'];
}

function compare(points: AgeingPoints, names: readonly AgeingModelName[]): Ranked[] {
  const n = points.x.length;
  return names.map((name) => {
    const { parameters, fit: model } = AGEING_MODELS[name];
    if (n <= parameters + 2) return { name, law: null, parameters, reason: 'too-few-points' };
    const law = model(points);
    const converged = law.fit.converged && Number.isFinite(law.residualSumOfSquares);
    const reason = !converged ? 'not-converged' : law.identifiable ? null : 'not-identifiable';
    return { name, law, parameters, reason };
  });
}

/** n ln(S/n)/ĉ + 2K + 2K(K+1)/(n − K − 1); null for a model that has no place in the ranking. */
function criterionOf(points: AgeingPoints, entry: Ranked, inflation: number): number | null {
  if (entry.law === null || entry.reason !== null) return null;
  const n = points.x.length;
  const k = entry.parameters + 1;
  const least = n * (ROUNDING_SHARE * Math.max(Math.abs(points.offsetY), Math.abs(points.y[0]))) ** 2;
  const sum = Math.max(entry.law.residualSumOfSquares, least, Number.MIN_VALUE);
  return (n * Math.log(sum / n)) / inflation + 2 * k + (2 * k * (k + 1)) / (n - k - 1);
}

function leaderOf(points: AgeingPoints, ranked: readonly Ranked[], inflation = 1): LawFit | null {
  let best: LawFit | null = null;
  let least = Infinity;
  for (const entry of ranked) {
    const value = criterionOf(points, entry, inflation);
    if (value !== null && value < least) {
      least = value;
      best = entry.law;
    }
  }
  return best;
}

/** Factor on the variances of a fit: neighbours that err alike, and at least what the steps of the readings hide. */
function growthOf(law: LawFit, points: AgeingPoints, unresolved: number): number {
  const { residualSd } = law.fit;
  const hidden = residualSd !== null && residualSd > 0 ? unresolved / residualSd ** 2 : 1;
  return Math.max(varianceInflation(residualsOf(law, points)), hidden);
}

function finish(
  points: AgeingPoints,
  ranked: readonly Ranked[],
  weights: Float64Array | null,
): ModelComparison {
  const leader = leaderOf(points, ranked);
  const inflation = leader === null ? 1 : varianceInflation(residualsOf(leader, points));
  const unresolved = printedStep(points.y) ** 2 / 12;
  const criteria = ranked.map((entry) => criterionOf(points, entry, inflation));
  const least = Math.min(...criteria.map((value) => value ?? Infinity));
  const shares = criteria.map((value) => (value === null ? 0 : Math.exp((least - value) / 2)));
  const total = shares.reduce((sum, share) => sum + share, 0);
  const candidates = ranked.map(({ name, law, reason }, i) => ({
    name,
    fit: law === null ? null : law.inflated(growthOf(law, points, unresolved)),
    aicc: criteria[i],
    deltaAicc: criteria[i] === null ? null : (criteria[i] ?? 0) - least,
    weight: criteria[i] === null ? null : shares[i] / total,
    reason,
  }));
  const chosen = candidates.find((candidate) => candidate.deltaAicc === 0)?.fit ?? null;
  return { candidates, chosen, weights, inflation };
}
