import { fitAgeingModels } from './fitModels.ts';
import type { AgeingModelName, LawFit } from './lawFit.ts';
import type { MixturePart } from './logMixture.ts';
import { type AgeingPoints, pointsBetween } from './points.ts';

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

/**
 * Continues a cell's own series to a limit. Each window of the series is fitted with each model; models share a window's weight by
 * their AICc (see `fitAgeingModels`); windows weigh alike. That the
 * windows disagree is part of the answer's uncertainty.
 *
 * Source of the averaging: Burnham and Anderson, Model Selection and Multimodel Inference, 2002, chapter 4.
 *
 * @param points of one cell, from the end of its initial rise on
 * @returns null where there are fewer than 8 points
 */
export function ownForecast(points: AgeingPoints, threshold: number, beyond: Beyond): OwnForecast | null {
  const n = points.x.length;
  if (n < 8) return null;
  const first = points.x[0];
  const end = points.x[n - 1];
  const parts: MixturePart[] = [];
  const curves: LawFit[] = [];
  for (const share of WINDOWS) {
    const window = share === 0 ? points : pointsBetween(points, first + share * (end - first), end);
    if (share > 0 && window.x.length < LEAST_POINTS) continue;
    const { candidates } = fitAgeingModels(window, CONTINUED, false);
    for (const { fit, weight } of candidates) {
      if (fit === null || weight === null || weight < 1e-3) continue;
      const at = crossingOf(fit, threshold, beyond, end);
      curves.push(fit);
      parts.push({ weight, ...partOf(fit, at, end) });
    }
  }
  return parts.length === 0 ? null : { parts, curves, end };
}

function partOf(fit: LawFit, at: number | null, end: number): { mean: number; sd: number } {
  if (at === null) return { mean: Infinity, sd: 0 };
  const mean = Math.log(at / end);
  const variance = fit.variance(at);
  const slope = Math.abs(fit.slope(at));
  const own = variance === null || !(slope > 0) ? 0.5 : Math.sqrt(Math.max(0, variance)) / (slope * at);
  return { mean, sd: Math.hypot(Math.min(own, 2), MODEL_FORM_SHARE * mean, 1e-4) };
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
