import { type MixturePart, mixtureProbability, mixtureQuantile } from './logMixture.ts';
import { type FinishedCell, type LotCell, lotForecast } from './lotForecast.ts';
import { type Beyond, type Continuation, crossingOf, type OwnForecast, ownForecast } from './ownForecast.ts';

/** Settings of a forecast, all with defaults. */
export interface ForecastOptions {
  /** Level of `low` and `high`. Default 0.8. */
  readonly level?: number;
  /** Further levels. Default 0.5, 0.8, 0.95. */
  readonly levels?: readonly number[];
  /** A forecast farther off than this multiple of the observed range is refused. Default 4. */
  readonly refusedBeyondRatio?: number;
  /** Last x at which the cell was measured and had not reached the limit. Default: the last point of the fits. */
  readonly lastMeasured?: number;
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
  readonly method: 'lot-prior' | 'model-average' | null;
  /** value / end of the observed range. */
  readonly ratio: number | null;
  readonly refusedBeyondRatio: number;
  readonly priorCells: readonly string[];
  readonly intervals: readonly {
    readonly level: number;
    readonly low: number | null;
    readonly high: number | null;
  }[];
  /** The whole distribution, in ln(x / end). */
  readonly parts: readonly MixturePart[];
  readonly end: number;
  /** Last x at which the limit was not reached: no quantile lies below it. */
  readonly from: number;
  /** The continued curve whose crossing lies nearest to the value; null where none crosses. */
  readonly curve: Continuation | null;
  /**
   * Probability that the curve bends to a steeper one after the data and before the limit. No data announce it; the interval allows
   * for it. Null where the cell's own points give no curve.
   */
  readonly bendAhead: number | null;
}

const LEVELS = [0.5, 0.8, 0.95];
/** A curve with at least this share of the best one's belief may be the one that is drawn. */
const SUPPORTED_SHARE = 0.1;

/**
 * Forecasts where one cell reaches a limit that it has not reached yet.
 *
 * With at least five finished cells of its lot: `lotForecast`. Alone: `ownForecast`. Value and interval are quantiles of the forecast's distribution; an end that the distribution
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
  const from = Math.max(options.lastMeasured ?? end, end);
  const nothing = {
    value: null,
    low: null,
    high: null,
    level,
    ratio: null,
    refusedBeyondRatio,
    intervals: [],
  };
  const empty = {
    ...nothing,
    method: null,
    priorCells: [],
    parts: [],
    end,
    from,
    curve: null,
    bendAhead: null,
  };
  if (points.x.length < 3) return { ...empty, reason: 'too-few-points' };
  const own = ownForecast(points, threshold, beyond);
  const lot = lotForecast(young, finished, beyond, own);
  const parts = lot?.parts ?? own?.parts ?? null;
  if (parts === null) return { ...empty, method: 'model-average', reason: 'never-crosses' };
  const method = lot === null ? ('model-average' as const) : ('lot-prior' as const);
  const bendAhead = own?.bendAhead ?? null;
  const common = { ...empty, method, priorCells: lot?.priorCells ?? [], parts, bendAhead };
  const now = Math.log(from / end);
  const at = (p: number): number => end * Math.exp(mixtureQuantile(parts, p, now));
  const value = at(0.5);
  if (value === Infinity) return { ...common, reason: 'never-crosses' };
  const ratio = value / from;
  if (ratio > refusedBeyondRatio) return { ...common, ratio, reason: 'beyond-stated-ratio' };
  const closed = (x: number): number | null => (Number.isFinite(x) && x < 1e3 * end ? x : null);
  const interval = (l: number) => ({ level: l, low: closed(at(0.5 - l / 2)), high: closed(at(0.5 + l / 2)) });
  const { low, high } = interval(level);
  const curve = nearestCurve(own?.curves ?? [], value, threshold, beyond, end);
  const reason = high === null ? ('interval-open' as const) : null;
  return { ...common, value, low, high, reason, ratio, intervals: levels.map(interval), curve };
}

/** P(limit reached by x), from a forecast's distribution. */
export function reachedBy({ parts, end, from }: Pick<Forecast, 'parts' | 'end' | 'from'>, x: number): number {
  return x < from ? 0 : mixtureProbability(parts, Math.log(x / end), Math.log(from / end));
}

/** Of the curves that the data support well, the one whose crossing lies nearest to the value. */
function nearestCurve(
  curves: OwnForecast['curves'],
  value: number,
  threshold: number,
  beyond: Beyond,
  end: number,
): Continuation | null {
  const supported = Math.max(...curves.map(({ weight }) => weight), 0) * SUPPORTED_SHARE;
  let best: Continuation | null = null;
  let least = Infinity;
  for (const { curve, weight } of curves) {
    if (weight < supported) continue;
    const at = crossingOf(curve, threshold, beyond, end);
    const away = at === null ? Infinity : Math.abs(Math.log(at / value));
    if (away < least) {
      least = away;
      best = curve;
    }
  }
  return best;
}
