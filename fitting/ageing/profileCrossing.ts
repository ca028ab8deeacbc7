import { tQuantile } from '../statistics/index.ts';
import { AGEING_MODELS, residualsOf } from './fitModels.ts';
import { type AgeingModelName, varianceInflation } from './lawFit.ts';
import { type Beyond, crossingOf } from './ownForecast.ts';
import { type AgeingPoints, ageingPoints } from './points.ts';

/** Where one model reaches a limit, with its profile-likelihood interval. Open ends are null. */
export interface ProfileCrossing {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly reason: 'never-crosses' | 'interval-open' | 'not-converged' | 'too-few-points' | null;
}

/** Models whose continuation the data determine; the bend of a knee model could move to where no data are. */
export type ProfiledModel = Exclude<AgeingModelName, 'two-slope' | 'three-slope'>;

/** Weight of the point that ties the curve to the limit, relative to the points of the series. */
const TIE = 1e7;
/** The interval is followed to this multiple of the observed range. */
const FARTHEST = 30;
/** Relative width below which the tied fits failed on either side: noisy data never determine a crossing so well. */
const NO_WIDTH = 1e-6;

/**
 * Profile-likelihood interval of the x at which a model reaches a limit: all x for which the sum of squares with the
 * curve forced through (x, threshold) exceeds the least one by no more than s²·t² (D. M. Bates, D. G. Watts, Nonlinear Regression
 * Analysis, 1988, 6.1). The curve is forced by a point of very large weight; s² is grown by the autocorrelation of the
 * residuals. It takes the model for true and so is narrower than a forecast.
 *
 * @param points at least as many as the model needs
 * @param level between 0 and 1
 */
export function profileCrossing(
  points: AgeingPoints,
  name: ProfiledModel,
  threshold: number,
  beyond: Beyond,
  level: number,
): ProfileCrossing {
  const none = { value: null, low: null, high: null };
  const { parameters, fit: model } = AGEING_MODELS[name];
  const n = points.x.length;
  if (n <= parameters + 2) return { ...none, reason: 'too-few-points' };
  const best = model(points);
  if (!best.fit.converged) return { ...none, reason: 'not-converged' };
  const end = points.x[n - 1];
  const value = crossingOf(best, threshold, beyond, end);
  if (value === null) return { ...none, reason: 'never-crosses' };
  const degrees = n - parameters;
  const variance = (best.residualSumOfSquares / degrees) * varianceInflation(residualsOf(best, points));
  const allowed = best.residualSumOfSquares + variance * tQuantile(0.5 + level / 2, degrees) ** 2;
  const inside = (x: number): boolean => tiedSum(points, name, threshold, x) <= allowed;
  // Tied where it is already, the curve must fit as it did; where it does not, the tied fits cannot be trusted.
  if (!inside(value)) return { ...none, value, reason: 'not-converged' };
  const low = value > end ? edge(inside, value, (x) => Math.max(x / 1.03, end), end) : end;
  const high = edge(inside, value, (x) => x * 1.03, FARTHEST * end);
  if (high !== null && high - (low ?? end) <= NO_WIDTH * value)
    return { ...none, value, reason: 'not-converged' };
  return { value, low: low ?? end, high, reason: high === null ? 'interval-open' : null };
}

/** Least sum of squares over the points with the curve tied to (x, threshold). */
function tiedSum(points: AgeingPoints, name: ProfiledModel, threshold: number, x: number): number {
  const n = points.x.length;
  // A limit at the end of the data ties the curve just behind the last point.
  const at = Math.max(x, points.x[n - 1] * (1 + 1e-9) + 1e-9);
  const weights = new Float64Array(n + 1).fill(1);
  if (points.weights !== null) weights.set(points.weights);
  weights[n] = TIE;
  const tied = ageingPoints(
    Float64Array.of(...points.x, at),
    Float64Array.of(...points.y, threshold),
    weights,
  );
  const law = AGEING_MODELS[name].fit(tied);
  let sum = 0;
  for (let i = 0; i < n; i++) sum += weights[i] * (points.y[i] - law.value(points.x[i])) ** 2;
  return sum;
}

/** Walks from the inside outwards until outside, then bisects; null where the bound is reached still inside. */
function edge(
  inside: (x: number) => boolean,
  from: number,
  step: (x: number) => number,
  bound: number,
): number | null {
  let last = from;
  for (;;) {
    const next = step(last);
    if (next === last || (bound > from ? next >= bound : next <= bound)) {
      if (bound > from || inside(bound)) return null;
    }
    if (!inside(next)) {
      let within = last;
      let without = next;
      for (let i = 0; i < 30; i++) {
        const middle = (within + without) / 2;
        if (inside(middle)) within = middle;
        else without = middle;
      }
      return within;
    }
    last = next;
  }
}
