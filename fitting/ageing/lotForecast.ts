import { normalQuantile, tQuantile } from '../statistics/distributions.ts';
import { type MixturePart, mixtureQuantile } from './logMixture.ts';
import { type Beyond, ownForecast } from './ownForecast.ts';
import { type AgeingPoints, pointsBetween } from './points.ts';

/** A cell of the lot as the forecast sees it: its points from the end of the initial rise on, and their running median. */
export interface LotCell {
  readonly cell: string;
  readonly points: AgeingPoints;
  readonly smooth: Float64Array;
  /** Best value of the running median near the start: loss is counted from here. */
  readonly initial: number;
  /** The limit, in the unit of the series; it may differ from cell to cell (a share of the first measured value). */
  readonly threshold: number;
}

/** A cell that has reached the limit. */
export interface FinishedCell extends LotCell {
  /** x at which it crossed the limit for good. */
  readonly life: number;
}

/** A forecast that leans on the lot's finished cells. */
export interface LotForecast {
  readonly parts: readonly MixturePart[];
  readonly end: number;
  /** Cells whose life went into it. */
  readonly priorCells: readonly string[];
  /** Weight of the lot's experience against the cell's own continued curve, 0…1. */
  readonly lotWeight: number;
}

/** Fewer finished cells than this are no prior. */
export const LEAST_FINISHED = 5;
/** With less of the way to the limit gone than this, the cell says nothing yet: the lot's lives stand alone. */
const LEAST_STAGE = 0.02;
/** Share of the observed range, at its end, that the present slope is taken from. */
const SLOPE_SHARE = 0.2;
const LEAST_SLOPE_POINTS = 5;

interface Stage {
  readonly x: number;
  /** ln of the straight-line remaining life, relative to x. */
  readonly tangent: number;
  /** Share of the way from the initial value to the limit that is gone. */
  readonly gone: number;
}

/**
 * Forecasts ln(life / present age) of a young cell from cells of its lot that have reached the limit.
 *
 * Each finished cell is looked at when it had gone as far towards the limit as the young one has now. Two predictors are
 * available there: (1) a regression over the finished cells of ln(life / age) on the logarithm of the straight-line remaining life; (2) the
 * cell's own continued curve (`ownForecast`), shifted by its mean error in the lot where that helps. Their mixing weight is the one of least
 * squared error over the finished cells, each left out of what predicts it, and the same errors give the spread (Student's t).
 * The idea of letting complete histories correct a partial one is that of growth-curve prediction by
 * analogues; the errors are out of sample, so the interval needs no model of the noise.
 *
 * @param finished at least 5, else null comes back
 */
export function lotForecast(
  young: LotCell,
  finished: readonly FinishedCell[],
  beyond: Beyond,
): LotForecast | null {
  const lot = finished.filter((other) => other.cell !== young.cell);
  if (lot.length < LEAST_FINISHED) return null;
  const end = young.points.x[young.points.x.length - 1];
  const now = stageAt(young, end);
  const priorCells = lot.map((other) => other.cell);
  const own = ownGuess(young.points, young.threshold, beyond);
  if (now === null || now.gone < LEAST_STAGE) return fromLives(lot, end, own);
  const cases: Case[] = [];
  for (const other of lot) {
    const at = ageAtStage(other, now.gone);
    const then = at === null ? null : stageAt(other, at);
    if (then === null || at === null || !(at < other.life)) continue;
    const own = ownGuess(pointsBetween(other.points, other.points.x[0], at), other.threshold, beyond);
    cases.push({ response: Math.log(other.life / at), tangent: then.tangent, own });
  }
  if (cases.length < LEAST_FINISHED) return fromLives(lot, end, own);
  const { mean, sd, lotWeight } = combine(cases, now.tangent, own);
  return { parts: [{ weight: 1, mean: Math.max(mean, 0), sd }], end, priorCells, lotWeight };
}

interface Case {
  readonly response: number;
  readonly tangent: number;
  readonly own: OwnGuess | null;
}

/** Middle and spread of a cell's own continued curve in ln(life / age). */
interface OwnGuess {
  readonly middle: number;
  readonly spread: number;
}

/** The cycle of a crossing is itself uncertain by about a hundredth of life: the scatter from cycle to cycle. */
const LEAST_SPREAD = 0.012;
/** Largest ln(life / age) a single cell's curve is believed. */
const OWN_CAP = 2.5;

function ownGuess(points: AgeingPoints, threshold: number, beyond: Beyond): OwnGuess | null {
  const own = ownForecast(points, threshold, beyond);
  if (own === null) return null;
  const quantile = (p: number): number => Math.min(mixtureQuantile(own.parts, p), OWN_CAP);
  return { middle: quantile(0.5), spread: Math.max((quantile(0.84) - quantile(0.16)) / 2, 1e-3) };
}

/**
 * Mixes the two predictors by their precision. The spread of a cell's own curve says how sure it is relative to the
 * other cells' curves; by what factor it is wrong is learned from the lot, and so is the factor of the mixture.
 */
function combine(
  cases: readonly Case[],
  tangent: number,
  own: OwnGuess | null,
): { mean: number; sd: number; lotWeight: number } {
  const n = cases.length;
  const line = regression(cases, tangent);
  const degrees = n - 2;
  const lineSpread = spreadOf(line.errors, degrees);
  const standardised = cases.flatMap((c) =>
    c.own === null ? [] : [(c.response - c.own.middle) / c.own.spread],
  );
  const factor =
    standardised.length < LEAST_FINISHED ? Infinity : spreadOf(standardised, standardised.length);
  const mix = (lot: number, lotSpread: number, guess: OwnGuess | null) => {
    const ownSpread = guess === null ? Infinity : factor * guess.spread;
    const lotWeight = ownSpread === Infinity ? 1 : ownSpread ** 2 / (lotSpread ** 2 + ownSpread ** 2);
    const spread = ownSpread === Infinity ? lotSpread : lotSpread * Math.sqrt(lotWeight);
    return {
      mean: lotWeight * lot + (guess === null ? 0 : (1 - lotWeight) * guess.middle),
      spread,
      lotWeight,
    };
  };
  const errors = cases.map((c, i) => {
    const mixed = mix(c.response - line.errors[i], lineSpread, c.own);
    return (c.response - mixed.mean) / mixed.spread;
  });
  const mixed = mix(line.mean, lineSpread * Math.sqrt(1 + line.leverage), own);
  const student = tQuantile(0.9, degrees) / normalQuantile(0.9);
  const sd = Math.max(mixed.spread * spreadOf(errors, degrees) * student, LEAST_SPREAD);
  return { mean: mixed.mean, sd, lotWeight: mixed.lotWeight };
}

const absolutes = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + Math.abs(value), 0);
const squares = (values: readonly number[]): number => values.reduce((sum, value) => sum + value * value, 0);

/** Mean of the standard deviation and of the scaled mean absolute error: one odd cell does not set the spread alone. */
function spreadOf(errors: readonly number[], degrees: number): number {
  const fromSquares = Math.sqrt(squares(errors) / degrees);
  const fromAbsolutes = (Math.sqrt(Math.PI / 2) * absolutes(errors)) / degrees;
  return (fromSquares + fromAbsolutes) / 2;
}

/** Straight line of the response on the tangent: prediction, its leverage, and the errors of the cells left out one by one. */
function regression(
  cases: readonly Case[],
  tangent: number,
): { mean: number; leverage: number; errors: number[] } {
  const n = cases.length;
  const meanX = cases.reduce((sum, c) => sum + c.tangent, 0) / n;
  const offsetY = cases.reduce((sum, c) => sum + c.response, 0) / n;
  const sxx = cases.reduce((sum, c) => sum + (c.tangent - meanX) ** 2, 0);
  const sxy = cases.reduce((sum, c) => sum + (c.tangent - meanX) * (c.response - offsetY), 0);
  const slope = sxx > 0 ? sxy / sxx : 0;
  const leverageOf = (x: number): number => 1 / n + (sxx > 0 ? (x - meanX) ** 2 / sxx : 0);
  const errors = cases.map(
    (c) => (c.response - offsetY - slope * (c.tangent - meanX)) / Math.max(1 - leverageOf(c.tangent), 0.05),
  );
  return { mean: offsetY + slope * (tangent - meanX), leverage: leverageOf(tangent), errors };
}

/**
 * The lot's lives that lie beyond the present age, mixed by precision with the cell's own curve: for a cell that has
 * hardly begun, or whose stage the others passed too soon to be compared.
 */
function fromLives(lot: readonly FinishedCell[], end: number, own: OwnGuess | null): LotForecast | null {
  const beyond = lot.filter((other) => other.life > end);
  if (beyond.length < 3) return null;
  const logs = beyond.map((other) => Math.log(other.life / end));
  const mean = logs.reduce((sum, value) => sum + value, 0) / logs.length;
  const variance = squares(logs.map((value) => value - mean)) / (logs.length - 1);
  const student = tQuantile(0.9, logs.length - 1) / normalQuantile(0.9);
  const lives = (variance * (1 + 1 / logs.length) + LEAST_SPREAD ** 2) * student ** 2;
  const ownVariance = own === null || own.middle >= OWN_CAP ? Infinity : own.spread ** 2;
  const lotWeight = ownVariance === Infinity ? 1 : ownVariance / (ownVariance + lives);
  const middle = lotWeight * mean + (lotWeight < 1 ? (1 - lotWeight) * (own?.middle ?? 0) : 0);
  const sd = Math.sqrt(lives * lotWeight);
  return { parts: [{ weight: 1, mean: middle, sd }], end, priorCells: beyond.map((o) => o.cell), lotWeight };
}

/** Level and slope at age x from a straight line through the last part of the range; null where there are too few points. */
function stageAt(cell: LotCell, x: number): Stage | null {
  const { points, initial, threshold } = cell;
  const from = x - SLOPE_SHARE * x;
  let n = 0;
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let sxy = 0;
  for (let i = 0; i < points.x.length && points.x[i] <= x; i++) {
    if (points.x[i] < from) continue;
    const u = points.x[i] - x;
    n++;
    sx += u;
    sy += cell.smooth[i];
    sxx += u * u;
    sxy += u * cell.smooth[i];
  }
  if (n < LEAST_SLOPE_POINTS) return null;
  const determinant = n * sxx - sx * sx;
  const slope = (n * sxy - sx * sy) / determinant;
  const level = (sy - slope * sx) / n;
  const way = threshold - initial;
  const left = (threshold - level) / way;
  if (!(left > 0)) return null;
  // A slope that points away from the limit, or next to none, counts as a fiftieth of the mean one so far.
  const perX = Math.max(slope / way, (0.02 * Math.max(1 - left, LEAST_STAGE)) / x);
  return { x, tangent: Math.log(left / (perX * x)), gone: 1 - left };
}

/** Age at which the running median of a cell had gone a given share of the way to the limit, for good. */
function ageAtStage(cell: LotCell, gone: number): number | null {
  const { points, smooth, initial, threshold } = cell;
  const way = threshold - initial;
  for (let i = smooth.length - 1; i >= 0; i--) {
    if ((smooth[i] - initial) / way < gone) return i + 1 < smooth.length ? points.x[i + 1] : null;
  }
  return null;
}
