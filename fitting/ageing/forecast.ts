import type { LawFit } from './lawFit.ts';
import { lineCrossing } from './lineCrossing.ts';
import { type MixturePart, mixtureProbability, mixtureQuantile } from './logMixture.ts';
import { type FinishedCell, type LotCell, lotForecast } from './lotForecast.ts';
import { type Beyond, crossingOf, ownForecast } from './ownForecast.ts';

/** Settings of a forecast, all with defaults. */
export interface ForecastOptions {
  /** Level of `low` and `high`. Default 0.8. */
  readonly level?: number;
  /** Further levels. Default 0.5, 0.8, 0.95. */
  readonly levels?: readonly number[];
  /** A forecast farther off than this multiple of the observed range is refused. Default 4. */
  readonly refusedBeyondRatio?: number;
}

/** Why there is no forecast. */
export type ForecastReason = 'too-few-points' | 'never-crosses' | 'beyond-stated-ratio' | 'interval-open';

/** When a limit will be reached: an extrapolation by its nature. */
export interface Forecast {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly level: number;
  readonly reason: ForecastReason | null;
  readonly method: 'lot-prior' | 'model-average' | 'fieller' | null;
  /** value / end of the observed range. */
  readonly ratio: number | null;
  readonly refusedBeyondRatio: number;
  readonly priorCells: readonly string[];
  readonly intervals: readonly {
    readonly level: number;
    readonly low: number | null;
    readonly high: number | null;
  }[];
  /** The whole distribution, in ln(x / end); empty for a line by Fieller. */
  readonly parts: readonly MixturePart[];
  readonly end: number;
  /** The continued curve whose crossing lies nearest to the value; null where none crosses. */
  readonly curve: LawFit | null;
}

const LEVELS = [0.5, 0.8, 0.95];

/**
 * Forecasts where one cell reaches a limit that it has not reached yet.
 *
 * With at least five finished cells of its lot: `lotForecast`. Alone: `ownForecast`. With 3 to 7 points: a straight line with
 * Fieller's region. Value and interval are quantiles of the forecast's distribution; an end that the distribution
 * does not close is null with the reason `interval-open`.
 *
 * @throws RangeError for a level outside (0, 1) or a ratio that is not above 1
 */
export function forecastLimit(
  young: LotCell,
  finished: readonly FinishedCell[],
  beyond: Beyond,
  options: ForecastOptions = {},
): Forecast {
  const { level = 0.8, levels = LEVELS, refusedBeyondRatio = 4 } = options;
  for (const each of [level, ...levels]) {
    if (!(each > 0 && each < 1)) throw new RangeError(`level must lie between 0 and 1, got ${each}`);
  }
  if (!(refusedBeyondRatio > 1))
    throw new RangeError(`refusedBeyondRatio must be above 1, got ${refusedBeyondRatio}`);
  const { points, threshold } = young;
  const end = points.x[points.x.length - 1] ?? 0;
  const nothing = {
    value: null,
    low: null,
    high: null,
    level,
    ratio: null,
    refusedBeyondRatio,
    priorCells: [],
  };
  const empty = { ...nothing, method: null, intervals: [], parts: [], end, curve: null };
  if (points.x.length < 3) return { ...empty, reason: 'too-few-points' };
  const own = ownForecast(points, threshold, beyond);
  const lot = lotForecast(young, finished, beyond);
  const parts = lot?.parts ?? own?.parts ?? null;
  if (parts === null) return byLine(young, beyond, { level, levels, refusedBeyondRatio });
  const method = lot === null ? ('model-average' as const) : ('lot-prior' as const);
  const priorCells = lot?.priorCells ?? [];
  const common = { level, refusedBeyondRatio, method, priorCells, parts, end };
  const at = (p: number): number => end * Math.exp(Math.max(0, mixtureQuantile(parts, p)));
  const value = at(0.5);
  const refused = { ...common, value: null, low: null, high: null, ratio: null, intervals: [], curve: null };
  if (value === Infinity) return { ...refused, reason: 'never-crosses' };
  const ratio = value / end;
  if (ratio > refusedBeyondRatio) return { ...refused, ratio, reason: 'beyond-stated-ratio' };
  const closed = (x: number): number | null => (Number.isFinite(x) && x < 1e3 * end ? x : null);
  const interval = (l: number) => ({ level: l, low: closed(at(0.5 - l / 2)), high: closed(at(0.5 + l / 2)) });
  const { low, high } = interval(level);
  const curve = nearestCurve(own?.curves ?? [], value, threshold, beyond, end);
  const reason = high === null ? ('interval-open' as const) : null;
  return { ...common, value, low, high, reason, ratio, intervals: levels.map(interval), curve };
}

/** P(limit reached by x), from a forecast's distribution. */
export function reachedBy(forecast: Pick<Forecast, 'parts' | 'end'>, x: number): number {
  return x < forecast.end ? 0 : mixtureProbability(forecast.parts, Math.log(x / forecast.end));
}

function byLine(young: LotCell, beyond: Beyond, options: Required<ForecastOptions>): Forecast {
  const { points, threshold } = young;
  const { level, refusedBeyondRatio } = options;
  const end = points.x[points.x.length - 1];
  const crossing = lineCrossing(points, threshold, beyond, level);
  const common = { level, refusedBeyondRatio, priorCells: [], parts: [], end, curve: null };
  const ratio = crossing.value === null ? null : crossing.value / end;
  if (crossing.value === null || ratio === null || ratio > refusedBeyondRatio) {
    const reason = crossing.value === null ? ('never-crosses' as const) : ('beyond-stated-ratio' as const);
    return { ...common, value: null, low: null, high: null, ratio, reason, method: 'fieller', intervals: [] };
  }
  const { value, low, high } = crossing;
  const reason = crossing.reason === null ? null : ('interval-open' as const);
  const intervals = options.levels.map((l) => {
    const region = lineCrossing(points, threshold, beyond, l);
    return { level: l, low: region.low, high: region.high };
  });
  return { ...common, value, low, high, ratio, reason, method: 'fieller', intervals };
}

function nearestCurve(
  curves: readonly LawFit[],
  value: number,
  threshold: number,
  beyond: Beyond,
  end: number,
): LawFit | null {
  let best: LawFit | null = null;
  let least = Infinity;
  for (const curve of curves) {
    const at = crossingOf(curve, threshold, beyond, end);
    const away = at === null ? Infinity : Math.abs(Math.log(at / value));
    if (away < least) {
      least = away;
      best = curve;
    }
  }
  return best;
}
