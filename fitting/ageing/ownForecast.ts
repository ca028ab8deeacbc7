import { secondDifferenceNoise } from '../numeric/noise.ts';
import { AGEING_MODELS, fitAgeingModels } from './fitModels.ts';
import type { AgeingModelName, LawFit } from './lawFit.ts';
import type { MixturePart } from './logMixture.ts';
import { type AgeingPoints, ageingPoints, pointsBetween } from './points.ts';
import { fitLinear } from './straightLaws.ts';

/** Which way a limit is crossed. */
export type Beyond = 'below' | 'above';

/** A forecast from a cell's own points: a mixture over models and windows, in ln(x / last x). */
export interface OwnForecast {
  readonly parts: readonly MixturePart[];
  /** The curves behind the parts, in the same order. */
  readonly curves: readonly LawFit[];
  /** Last x of the points. */
  readonly end: number;
}

/** Models that may be continued beyond the data. The knee models end in a straight line whose slope no data has seen. */
const CONTINUED: readonly AgeingModelName[] = ['linear', 'square-root', 'power', 'exponential-linear'];
/** Parts of the observed range the models are fitted to: all, and its later shares. */
const WINDOWS = [0, 0.3, 0.5];
/** Fewer points than this make no window of their own. */
const LEAST_POINTS = 12;
/** A limit farther off than this multiple of the observed range is "never". */
const FARTHEST = 30;
/**
 * Uncertainty of the model itself, as a share of the distance continued: the standard deviation of ln x grows by this
 * times ln(x / end). Found on 27 cells of the lithium iron phosphate set of Severson et al. (Nature Energy 4 (2019) 383) by the calibration
 * in tests/bench; a lot's own finished cells replace it where there are any.
 */
export const MODEL_FORM_SHARE = 0.3;

/** The same share grows to this multiple of what the model missed when it had to foretell the last part of the data … */
const MISS_FACTOR = 1.5;
/** … up to this. */
const MOST_FORM_SHARE = 0.8;

/**
 * Continues a cell's own series to a limit. Each window of the series is fitted with each model. A model's weight in the
 * mixture is the root of its Akaike weight in the window, divided by its error when it has to foretell the last 15 % of
 * the window from the rest: a curve that would have been wrong already is believed less. A curve that has all but stopped fading at
 * the end of the data takes no part. That windows and models disagree is part of the answer's uncertainty.
 *
 * Source of the averaging: Burnham and Anderson, Model Selection and Multimodel Inference, 2002, chapter 4; the
 * weighting by hindcasts is ours, tried on the calibration in tests/bench and on the NASA Ames cells.
 *
 * @param points of one cell, from the end of its initial rise on
 * @returns null where there are fewer than 8 points
 */
export function ownForecast(points: AgeingPoints, threshold: number, beyond: Beyond): OwnForecast | null {
  const n = points.x.length;
  if (n < 8) return null;
  const first = points.x[0];
  const end = points.x[n - 1];
  const noise = secondDifferenceNoise(points.y, undefined, 1);
  const parts: MixturePart[] = [];
  const curves: LawFit[] = [];
  for (const share of WINDOWS) {
    const window = share === 0 ? points : pointsBetween(points, first + share * (end - first), end);
    if (share > 0 && window.x.length < LEAST_POINTS) continue;
    const { candidates } = fitAgeingModels(window, CONTINUED, false);
    for (const { name, fit, weight } of candidates) {
      if (fit === null || weight === null || weight < 1e-3 || stops(fit, window, beyond)) continue;
      const miss = hindcastMiss(window, name, noise);
      const at = crossingOf(fit, threshold, beyond, end);
      curves.push(fit);
      parts.push({ weight: Math.sqrt(weight) / miss.error, ...partOf(fit, at, end, miss.relative) });
    }
  }
  if (parts.length === 0) return lineForecast(points, threshold, beyond);
  return { parts, curves, end };
}

/** The straight line alone, where every other curve has stopped. */
function lineForecast(points: AgeingPoints, threshold: number, beyond: Beyond): OwnForecast {
  const fit = fitLinear(points);
  const end = points.x[points.x.length - 1];
  const at = crossingOf(fit, threshold, beyond, end);
  return { parts: [{ weight: 1, ...partOf(fit, at, end, 1) }], curves: [fit], end };
}

/** A curve that has all but stopped fading at the end of the data is no forecast: less than this share of the mean slope. */
const LEAST_END_SLOPE = 0.3;

function stops(fit: LawFit, window: AgeingPoints, beyond: Beyond): boolean {
  const { x } = window;
  const last = x[x.length - 1];
  const mean = (fit.value(last) - fit.value(x[0])) / (last - x[0]);
  const towards = beyond === 'below' ? -1 : 1;
  return mean * towards > 0 && fit.slope(last) * towards < LEAST_END_SLOPE * mean * towards;
}

/** Share of a window that is held back to see how well a model would have foretold it. */
const HELD_BACK = 0.15;

/** How far a model fitted to the first part of a window misses the rest: in y, and relative to the change foretold. */
function hindcastMiss(
  window: AgeingPoints,
  name: AgeingModelName,
  noise: number,
): { error: number; relative: number } {
  const { x, y } = window;
  const n = x.length;
  const cut = n - Math.max(3, Math.round(HELD_BACK * n));
  const { fit: model, parameters } = AGEING_MODELS[name];
  if (cut <= parameters + 2) return { error: Math.max(noise, Number.MIN_VALUE) * 10, relative: 1 };
  const known = ageingPoints(x.subarray(0, cut), y.subarray(0, cut));
  const law = model(known);
  let sum = 0;
  for (let i = cut; i < n; i++) sum += (y[i] - law.value(x[i])) ** 2;
  const error = Math.hypot(Math.sqrt(sum / (n - cut)), noise, 1e-6 * Math.abs(y[0]));
  const change = Math.abs(law.value(x[n - 1]) - law.value(x[cut - 1]));
  return { error, relative: error / Math.max(change, 1e-9 * Math.abs(y[0])) };
}

function partOf(fit: LawFit, at: number | null, end: number, missed: number): { mean: number; sd: number } {
  if (at === null) return { mean: Infinity, sd: 0 };
  const mean = Math.log(at / end);
  const variance = fit.variance(at);
  const slope = Math.abs(fit.slope(at));
  const formShare = Math.min(Math.max(MODEL_FORM_SHARE, MISS_FACTOR * missed), MOST_FORM_SHARE);
  const own = variance === null || !(slope > 0) ? 0.5 : Math.sqrt(Math.max(0, variance)) / (slope * at);
  return { mean, sd: Math.hypot(Math.min(own, 2), formShare * mean, 1e-4) };
}

/**
 * First x ≥ `end` at which the curve lies beyond the threshold, by geometric steps and bisection; null where it does not within 30 times
 * the observed range.
 */
export function crossingOf(
  fit: Pick<LawFit, 'value'>,
  threshold: number,
  beyond: Beyond,
  end: number,
): number | null {
  const isBeyond = (x: number): boolean => {
    const value = fit.value(x);
    return beyond === 'below' ? value < threshold : value > threshold;
  };
  if (isBeyond(end)) return end;
  let low = end;
  for (let ratio = 1.02; ratio <= FARTHEST; ratio *= 1.02) {
    let high = end * ratio;
    if (!isBeyond(high)) {
      low = high;
      continue;
    }
    for (let i = 0; i < 50; i++) {
      const middle = (low + high) / 2;
      if (isBeyond(middle)) high = middle;
      else low = middle;
    }
    return high;
  }
  return null;
}
