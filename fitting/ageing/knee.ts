import { tQuantile } from '../statistics/index.ts';
import type { AgeingQuantity } from './cleanSeries.ts';
import type { ModelComparison } from './fitModels.ts';
import type { LawFit } from './lawFit.ts';

/** The knee of a fade or rise curve, from the two-slope model; null with a reason where there is none. */
export interface Knee {
  readonly at: number | null;
  /** 95 % Wald interval, widened by the variance inflation of the residuals. */
  readonly low: number | null;
  readonly high: number | null;
  /** First bend of the three-slope model where that is the better one. */
  readonly onset: number | null;
  readonly reason: 'no-knee' | 'smooth-acceleration' | 'too-few-points' | 'not-converged' | null;
}

/** AICc by which a bend must beat the straight line. */
const LEAST_GAIN = 10;
/** Change of slope, in standard errors, that counts. */
const LEAST_SIGMAS = 3;
/** Parameters of the two-slope model beyond those of the line. */
const EXTRA_PARAMETERS = 3;

/**
 * Decides whether a series has a knee, and where. There is one where the two-slope model beats the straight line by an
 * AICc of more than 10 (which allows for the autocorrelation of the residuals, see `fitAgeingModels`), the change of slope is more
 * than three of its standard errors, and the curve gets steeper towards the limit. Where a law without a bend has considerably
 * more support than the models with one (Burnham and Anderson, Model Selection and Multimodel Inference, 2002, 2.6, from
 * memory), the fade only accelerates: that is not a knee.
 */
export function kneeOf(comparison: ModelComparison, quantity: AgeingQuantity): Knee {
  const none = { at: null, low: null, high: null, onset: null };
  const of = (name: string) => comparison.candidates.find((candidate) => candidate.name === name);
  const line = of('linear');
  const bent = of('two-slope');
  if (line?.aicc == null || bent === undefined || bent.fit === null)
    return { ...none, reason: 'too-few-points' };
  const gain =
    bent.aicc === null ? gainWithout(line.fit, bent.fit, comparison.inflation) : line.aicc - bent.aicc;
  if (!(gain > LEAST_GAIN) || !steepens(bent.fit, quantity)) return { ...none, reason: 'no-knee' };
  if (bent.aicc === null) return { ...none, reason: 'not-converged' };
  if (acceleratesSmoothly(comparison)) return { ...none, reason: 'smooth-acceleration' };
  const knee = bent.fit.parameters.find((p) => p.name === 'knee');
  if (knee === undefined || knee.standardError === null) return { ...none, reason: 'no-knee' };
  const t = tQuantile(0.975, Math.max(1, bent.fit.fit.degreesOfFreedom));
  // Where neighbouring points err alike, or the curve bends where the model is straight, they tell less than their number.
  const reach = t * knee.standardError * Math.sqrt(Math.max(1, comparison.inflation));
  const three = of('three-slope');
  const better = three?.fit != null && three.aicc !== null && three.aicc < bent.aicc;
  const onset =
    better && three?.fit != null && steepens(three.fit, quantity) ? three.fit.parameter('onset') : null;
  return { at: knee.value, low: knee.value - reach, high: knee.value + reach, onset, reason: null };
}

/** By how much AICc of a law without a bend must lie below those of the models with one. */
const MORE_SUPPORT = 4;
const BENT_MODELS: ReadonlySet<string> = new Set(['two-slope', 'three-slope']);

/** Whether a law without a bend describes the series clearly better than those with one. */
function acceleratesSmoothly({ candidates }: ModelComparison): boolean {
  const least = (bent: boolean): number =>
    Math.min(
      ...candidates
        .filter(({ name }) => BENT_MODELS.has(name) === bent)
        .map(({ aicc }) => aicc ?? Number.POSITIVE_INFINITY),
    );
  return least(false) + MORE_SUPPORT < least(true);
}

/** The most a bend whose fit did not end well could gain: without that, a straight line would often be "not converged". */
function gainWithout(line: LawFit | null, bent: LawFit, inflation: number): number {
  if (line === null) return 0;
  const points = bent.fit.points;
  return (
    (points * Math.log(line.residualSumOfSquares / bent.residualSumOfSquares)) / inflation -
    2 * EXTRA_PARAMETERS
  );
}

function steepens(fit: LawFit, quantity: AgeingQuantity): boolean {
  const name = fit.name === 'two-slope' ? 'slopeChange' : 'kneeSlopeChange';
  const change = fit.parameters.find((p) => p.name === name);
  if (change === undefined) return false;
  const towards = quantity === 'capacity' ? change.value < 0 : change.value > 0;
  const error = change.standardError;
  return towards && (error === null || Math.abs(change.value) > LEAST_SIGMAS * error);
}
