import { normalQuantile } from '../statistics/distributions.ts';
import type { Forecast } from './forecast.ts';
import { mixtureQuantile } from './logMixture.ts';
import { type Beyond, crossingOf } from './ownForecast.ts';

/** Quantiles of the quantity to be expected at each x beyond the observed range. */
export interface Fan {
  readonly x: readonly number[];
  readonly quantiles: readonly { readonly probability: number; readonly y: readonly number[] }[];
  readonly extrapolatedFrom: number;
}

const PROBABILITIES = [0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975];
const STEPS = 60;

/**
 * A fan chart that agrees with the forecast: the continued curve is stretched in x about the end of the data so that it meets the
 * limit at each quantile of the forecast (an early quantile gives a steep curve), and the scatter of single
 * measurements is added. Where no continued curve reaches the limit, a straight line from the present level does.
 *
 * @param level present level of the quantity, at the end of the data
 * @param noise standard deviation of single measurements
 * @returns null where the forecast gives no value or no distribution
 */
export function fanOf(
  forecast: Forecast,
  threshold: number,
  beyond: Beyond,
  level: number,
  noise: number,
): Fan | null {
  const { value, parts, end, curve } = forecast;
  if (value === null || parts.length === 0 || !(value > end)) return null;
  const own = curve === null ? null : crossingOf(curve, threshold, beyond, end);
  const usable = curve !== null && own !== null && own > end;
  const central = usable ? (own as number) : value;
  const offset = usable ? level - curve.value(end) : 0;
  const height = (x: number): number => {
    const share = (x - end) / (central - end);
    if (!usable) return level + (threshold - level) * share;
    // The present level is met at the end of the data, the limit at the crossing.
    return curve.value(x) + offset * Math.max(0, 1 - share);
  };
  const latest = end * Math.exp(Math.min(mixtureQuantile(parts, 0.9), Math.log(forecast.refusedBeyondRatio)));
  const last = Math.max(value, Math.min(latest, end * forecast.refusedBeyondRatio));
  const x = Array.from({ length: STEPS + 1 }, (_, i) => end + ((last - end) * i) / STEPS);
  const quantiles = PROBABILITIES.map((probability) => {
    // Capacity: a low value belongs to an early crossing.
    const p = beyond === 'below' ? probability : 1 - probability;
    const at = end * Math.exp(Math.max(mixtureQuantile(parts, p), 1e-4));
    const stretch = (central - end) / (at - end);
    const scatter = normalQuantile(probability) * noise;
    const y = x.map((here) => {
      const expected = at === Infinity ? level : height(end + (here - end) * stretch);
      // Far beyond the limit the curve means nothing: it is drawn to zero, or to three times the limit.
      return Math.min(Math.max(expected + scatter, 0), 3 * Math.max(threshold, level));
    });
    return { probability, y };
  });
  return { x, quantiles, extrapolatedFrom: end };
}
