import { normalQuantile } from '../statistics/index.ts';
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
/** The curves are drawn past the limit by this share of the way from the present level to it, and by at least this share of the limit. */
const PAST_LIMIT_SHARE = 0.25;
const LEAST_PAST_LIMIT = 0.02;
/** The fan ends where nine in ten such cells have reached the limit, and at most at this multiple of the forecast. */
const LATEST = 0.9;
const MOST_OF_VALUE = 2;

/**
 * The x of the central curve that a quantile's curve shows at `here`. Both leave the end of the data with the same slope, which
 * the data show, and part on the way: g(u) = u / (s + (1 − s) u) of the way to the crossing, s the ratio of the two ways.
 *
 * @param way from the end of the data to the central crossing
 * @param span from there to the quantile's crossing
 */
function warped(here: number, from: number, way: number, span: number): number {
  const s = way / span;
  const u = (here - from) / span;
  const below = s + (1 - s) * u;
  return below > 0 ? from + (way * u) / below : Infinity;
}

/**
 * A fan chart that agrees with the forecast: the curve that the data support best is continued, warped in x from the end
 * of the data on so that it meets the limit at each quantile of the forecast (an early quantile gives a curve that bends), and the
 * scatter of single measurements is added. Where no such curve reaches the limit, a straight line from the present level does. Just
 * past the limit the curves end level: what comes after the end of life is not forecast.
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
  const { value, parts, end, from, curve } = forecast;
  if (value === null || parts.length === 0 || !(value > from)) return null;
  const now = Math.log(from / end);
  const own = curve === null ? null : crossingOf(curve, threshold, beyond, from);
  const usable = curve !== null && own !== null && own > from;
  const central = usable ? own : value;
  const offset = usable ? level - curve.value(from) : 0;
  const towards = beyond === 'below' ? -1 : 1;
  const past = Math.max(PAST_LIMIT_SHARE * Math.abs(threshold - level), LEAST_PAST_LIMIT * threshold);
  const floor = threshold + towards * past;
  const height = (x: number): number => {
    const share = (x - from) / (central - from);
    // The present level is met at the end of the data, the limit at the crossing.
    if (x === Infinity) return floor;
    const y = usable ? curve.value(x) + offset * Math.max(0, 1 - share) : level + (threshold - level) * share;
    return towards * (y - floor) > 0 ? floor : y;
  };
  const latest = end * Math.exp(mixtureQuantile(parts, LATEST, now));
  const last = Math.min(Math.max(latest, value), MOST_OF_VALUE * value);
  const x = Array.from({ length: STEPS + 1 }, (_, i) => from + ((last - from) * i) / STEPS);
  const quantiles = PROBABILITIES.map((probability) => {
    // Capacity: a low value belongs to an early crossing.
    const p = beyond === 'below' ? probability : 1 - probability;
    const at = end * Math.exp(mixtureQuantile(parts, p, now));
    const span = Math.max(at - from, 1e-4 * from);
    const scatter = normalQuantile(probability) * noise;
    const y = x.map(
      (here) => (at === Infinity ? level : height(warped(here, from, central - from, span))) + scatter,
    );
    return { probability, y };
  });
  return { x, quantiles, extrapolatedFrom: from };
}
