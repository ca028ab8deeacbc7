import { fitExponentialLinear } from './exponentialLaw.ts';
import { type AgeingModelName, type LawFit, varianceInflation } from './lawFit.ts';
import { type AgeingPoints, ageingPoints } from './points.ts';
import { fitPower } from './powerLaw.ts';
import { medianOf } from './runningMedian.ts';
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
  readonly reason: 'too-few-points' | 'not-converged' | null;
}

/** All models on one series. */
export interface ModelComparison {
  readonly candidates: readonly ModelCandidate[];
  readonly chosen: LawFit | null;
  /** Huber weights used for all models alike; null: all 1. */
  readonly weights: Float64Array | null;
}

/** Huber's constant for 95 % efficiency on normal errors (P. J. Huber, Robust Statistics, 1981). */
const HUBER = 1.345;
/** Residuals below this share of the level are rounding: they earn a model no credit. */
const ROUNDING_SHARE = 1e-10;

/**
 * Fits every model and ranks them by AICc = n ln(S/n) + 2K + 2K(K+1)/(n − K − 1), K with the residual variance (Burnham and Anderson,
 * Model Selection and Multimodel Inference, 2002).
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
  const leader = leaderOf(first);
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
  const scale = 1.4826 * medianOf(residuals.map(Math.abs));
  if (!(scale > 0)) return null;
  return residuals.map((r) => Math.min(1, (HUBER * scale) / Math.abs(r)));
}

type Ranked = {
  name: AgeingModelName;
  fit: LawFit | null;
  aicc: number | null;
  reason: ModelCandidate['reason'];
};

function compare(points: AgeingPoints, names: readonly AgeingModelName[]): Ranked[] {
  const n = points.x.length;
  return names.map((name) => {
    const model = AGEING_MODELS[name];
    if (n <= model.parameters + 2) return { name, fit: null, aicc: null, reason: 'too-few-points' };
    const law = model.fit(points);
    const converged = law.fit.converged && Number.isFinite(law.residualSumOfSquares);
    const aicc = Number.isFinite(law.residualSumOfSquares) ? aiccOf(points, law, model.parameters) : null;
    return { name, fit: law, aicc: converged ? aicc : null, reason: converged ? null : 'not-converged' };
  });
}

function aiccOf(points: AgeingPoints, law: LawFit, parameters: number): number {
  const n = points.x.length;
  const k = parameters + 1;
  const least = n * (ROUNDING_SHARE * Math.max(Math.abs(points.meanY), Math.abs(points.y[0]))) ** 2;
  const sum = Math.max(law.residualSumOfSquares, least, Number.MIN_VALUE);
  return n * Math.log(sum / n) + 2 * k + (2 * k * (k + 1)) / (n - k - 1);
}

function leaderOf(ranked: readonly Ranked[]): LawFit | null {
  let best: Ranked | null = null;
  for (const entry of ranked) {
    if (entry.aicc !== null && (best === null || entry.aicc < (best.aicc ?? Infinity))) best = entry;
  }
  return best?.fit ?? null;
}

function finish(
  points: AgeingPoints,
  ranked: readonly Ranked[],
  weights: Float64Array | null,
): ModelComparison {
  const leader = leaderOf(ranked);
  const least = Math.min(...ranked.map((entry) => entry.aicc ?? Infinity));
  const shares = ranked.map((entry) => (entry.aicc === null ? 0 : Math.exp((least - entry.aicc) / 2)));
  const total = shares.reduce((sum, share) => sum + share, 0);
  const candidates = ranked.map((entry, i) => {
    const known = entry.aicc !== null;
    return {
      ...entry,
      fit: entry.fit === null ? null : entry.fit.inflated(varianceInflation(residualsOf(entry.fit, points))),
      deltaAicc: known ? (entry.aicc ?? 0) - least : null,
      weight: known ? shares[i] / total : null,
    };
  });
  const chosen = candidates.find((candidate) => candidate.name === leader?.name)?.fit ?? null;
  return { candidates, chosen, weights };
}
