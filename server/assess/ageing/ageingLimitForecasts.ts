import type { FinishedCell, LotCell } from '../../../fitting/ageing/index.ts';
import {
  ageingPoints,
  crossedBetween,
  DEFAULT_STAYS,
  type Forecast,
  type ForecastOptions,
  forecastLimit,
  type LimitCrossing,
  limitCrossing,
  lineCrossing,
  profileCrossing,
  reachedBy,
  type StaysRule,
} from '../../../fitting/ageing/index.ts';
import type { AgeingForecast, AgeingLimit } from '../../contract/ageingResult.ts';
import { type AgeingConditions, areComparable } from './ageingConditions.ts';
import { type EndOfLife, limitName, thresholdOf } from './ageingLimits.ts';
import type { CellTracks, Track } from './ageingTracks.ts';

/** Where one cell stands against one limit. */
export interface Crossed extends LimitCrossing {
  readonly threshold: number | null;
  /** Points between which the crossing lies; null where there is none. */
  readonly between: ReturnType<typeof crossedBetween> | null;
}

/**
 * Finds where a cell crosses a limit for good. Rows that cannot be take no part, and outliers only where sound rows confirm
 * them; the rows of a cell that has failed count.
 */
export function crossingOf(
  cell: CellTracks,
  limit: EndOfLife,
  rated: number | null,
  stays: StaysRule = DEFAULT_STAYS,
): Crossed {
  const track = cell.tracks[limit.quantity];
  const threshold = thresholdOf(limit, rated, track?.series.firstMeasured ?? null);
  if (track === null || threshold === null)
    return { threshold, crossedAt: null, firstDipAt: null, between: null };
  const reasons = new Map(track.series.leftOut.map(({ index, reason }) => [index, reason]));
  const beyond = limit.quantity === 'capacity' ? 'below' : 'above';
  const { x, y } = track.series;
  const reasonOf = (i: number): string => reasons.get(i) ?? 'failed';
  const isSound = (i: number): boolean => ['failed', 'before-step'].includes(reasonOf(i));
  const isReal = (i: number): boolean => isSound(i) || OUTLIERS.has(reasonOf(i));
  const crossing = limitCrossing(x, y, threshold, beyond, stays, isReal, isSound);
  const { crossedAt } = crossing;
  const between =
    crossedAt === null
      ? null
      : crossedBetween(x, y, threshold, beyond, crossedAt, track.series.clean.noise, isSound);
  return { threshold, ...crossing, between };
}

/** Rows that were really measured but that the others contradict: none of them ends a life by itself. */
const OUTLIERS: ReadonlySet<string> = new Set(['spike', 'recovery', 'restart']);

function lotCell(cell: string, track: Track, threshold: number): LotCell | null {
  const { points, smooth, initial } = track.series;
  return points === null || initial === null ? null : { cell, points, smooth, initial, threshold };
}

/** A finished cell, and the conditions it was cycled at. */
export interface ExperiencedCell extends FinishedCell {
  readonly conditions: AgeingConditions;
}

/** Cells that reached a limit and began new: the prior of the others. */
export function finishedCells(
  lot: readonly CellTracks[],
  limit: EndOfLife,
  crossings: readonly Crossed[],
  rated: number | null,
): ExperiencedCell[] {
  return lot.flatMap(({ cell, conditions, tracks }, i) => {
    const track = tracks[limit.quantity];
    const threshold = thresholdOf(limit, rated, track?.series.firstMeasured ?? null);
    const life = crossings[i].crossedAt;
    if (track === null || threshold === null || life === null || track.carriedOver) return [];
    const prepared = lotCell(cell, track, threshold);
    return prepared === null || !(life > prepared.points.x[0]) ? [] : [{ ...prepared, life, conditions }];
  });
}

/** Settings of a forecast and the rule of staying crossed. */
export interface LimitSettings extends ForecastOptions {
  readonly stays?: StaysRule;
  /** An age for which the probability is wanted that the limit is reached by then. */
  readonly reachedBy?: number;
}

/** A limit in the contract's words, and its forecast for the fan chart. */
export interface EvaluatedLimit {
  readonly limit: AgeingLimit;
  readonly forecast: Forecast | null;
}

/** One limit of one cell: crossed, or forecast, or why neither. */
export function evaluateLimit(
  cell: CellTracks,
  limit: EndOfLife,
  crossing: Crossed,
  finished: readonly ExperiencedCell[],
  settings: LimitSettings,
): EvaluatedLimit {
  const { level = 0.8, refusedBeyondRatio = 4, stays = DEFAULT_STAYS } = settings;
  const track = cell.tracks[limit.quantity];
  const young =
    track === null || crossing.threshold === null ? null : lotCell(cell.cell, track, crossing.threshold);
  const missing =
    track === null
      ? limit.quantity === 'capacity'
        ? ('no-capacity' as const)
        : ('no-resistance' as const)
      : crossing.threshold === null
        ? limit.basis === 'of-rated'
          ? ('no-rated-capacity' as const)
          : ('no-initial-value' as const)
        : null;
  const common = {
    name: limitName(limit),
    quantity: limit.quantity,
    basis: limit.basis,
    threshold: crossing.threshold,
    crossedAt: crossing.crossedAt,
    crossedBetween: crossing.between,
    firstDipAt: crossing.firstDipAt,
    staysFor: { k: stays.k, n: stays.n },
    reason: missing,
  };
  const nothing = {
    value: null,
    low: null,
    high: null,
    level,
    method: null,
    extrapolation: true,
    ratio: null,
    refusedBeyondRatio,
    priorCells: [],
    priorConditions: [],
    bendAhead: null,
    intervals: [],
    reachedBy: null,
  };
  const reason = missing ?? (crossing.crossedAt !== null ? 'already-crossed' : null);
  if (reason !== null || young === null) {
    return {
      limit: { ...common, forecast: { ...nothing, reason: reason ?? 'too-few-points' } },
      forecast: null,
    };
  }
  // The lot's cells began new; one that carries on from elsewhere is not their younger fellow.
  const prior = track?.carriedOver
    ? []
    : finished.filter((other) => areComparable(cell.conditions, other.conditions));
  const beyond = limit.quantity === 'capacity' ? 'below' : 'above';
  const lastMeasured = track?.series.lastMeasuredAt ?? undefined;
  const forecast = forecastLimit(young, prior, beyond, { ...settings, lastMeasured });
  const { parts: _parts, end: _end, from: _from, curve: _curve, ...shown } = forecast;
  const priorConditions = shown.priorCells.length === 0 ? [] : Object.keys(cell.conditions);
  const singleModel = track === null ? null : bestSingle(track, young, limit.quantity, level);
  const intervals = shown.intervals.map((interval) => ({ ...interval }));
  return {
    limit: {
      ...common,
      forecast: {
        ...shown,
        singleModel,
        extrapolation: true,
        priorCells: [...shown.priorCells],
        priorConditions,
        intervals,
        reachedBy: reachedByOf(forecast, settings.reachedBy),
      },
    },
    forecast,
  };
}

function reachedByOf(forecast: Forecast, x: number | undefined): AgeingForecast['reachedBy'] {
  if (x === undefined || forecast.parts.length === 0) return null;
  return { x, probability: reachedBy(forecast, x) };
}

/** The crossing by the best single model that can be continued, with its own interval; null where none is ranked. */
function bestSingle(
  track: Track,
  young: LotCell,
  quantity: EndOfLife['quantity'],
  level: number,
): AgeingForecast['singleModel'] {
  const ranked = (track.comparison?.candidates ?? []).filter(
    (candidate) =>
      candidate.aicc !== null && candidate.name !== 'two-slope' && candidate.name !== 'three-slope',
  );
  ranked.sort((a, b) => (a.aicc ?? 0) - (b.aicc ?? 0));
  const name = ranked[0]?.name;
  if (name === undefined || name === 'two-slope' || name === 'three-slope') return null;
  const points = ageingPoints(young.points.x, young.points.y, track.comparison?.weights ?? null);
  const beyond = quantity === 'capacity' ? 'below' : 'above';
  return name === 'linear'
    ? { name, method: 'fieller', ...lineCrossing(points, young.threshold, beyond, level) }
    : { name, method: 'profile', ...profileCrossing(points, name, young.threshold, beyond, level) };
}
