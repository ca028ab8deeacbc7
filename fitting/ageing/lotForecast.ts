import { secondDifferenceNoise } from '../numeric/index.ts';
import { normalQuantile, tQuantile } from '../statistics/index.ts';
import { type CellAtStage, isComparable } from './comparable.ts';
import { type MixturePart, mixtureDensity } from './logMixture.ts';
import {
  type CombinedExperience,
  combine,
  type ExperienceCase,
  errorSpread,
  type LotPredictor,
  linePredictor,
  medianPredictor,
} from './lotExperience.ts';
import { type Beyond, type OwnForecast, ownForecast } from './ownForecast.ts';
import type { AgeingPoints } from './points.ts';

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
}

/** Fewer finished cells than this are not a prior. */
export const LEAST_FINISHED = 5;
/** With less of the way to the limit gone than this, a stage cannot be distinguished from the scatter. */
const LEAST_STAGE = 0.02;
/** With less of the way gone than this, the curve so far says too little to compare it. */
const LEAST_COMPARED = 0.1;
/** Share of the observed range, at its end, that the present slope is taken from. */
const SLOPE_SHARE = 0.2;
const LEAST_SLOPE_POINTS = 5;
/** ln x over which the two answers are joined, and how finely. */
const FARTHEST_LOG = Math.log(30);
const GRID_STEPS = 1000;
/** Weight of the wide part of the finished cells' answer: a cell may be unlike all others. */
const UNLIKE = 0.05;
const UNLIKE_FACTOR = 5;
/** The two answers rest in part on the same points: their product counts with this power, which widens it by a tenth. */
const SHARED_POWER = 0.85;

interface Stage {
  readonly x: number;
  /** ln of the straight-line remaining life, relative to x. */
  readonly tangent: number;
  /** Share of the way from the initial value to the limit that is gone. */
  readonly gone: number;
}

/**
 * Forecasts ln(life / present age) of a young cell from finished cells of its lot and from its own curve.
 *
 * The finished cells are looked at twice: at the young cell's age, where those still alive then tell how their loss and slope
 * at that age went with their life; and at the young cell's stage, where they had gone as far towards the limit. Each
 * view gives simple predictors, which are joined by their errors on the finished cells, each left out in turn. Those errors
 * are the distribution of the answer, as in the jackknife+ of R. F. Barber et al., Ann. Statist. 49 (2021) 486, smoothed and grown for
 * their number (Student's t). The cell's own forecast multiplies it: where its own curve says more than the
 * others' experience, it decides.
 *
 * Cells whose curves so far are not like the young one's are no experience for it (`isComparable`).
 *
 * @param finished at least 5 whose curves are like the young cell's, else null comes back
 * @param own the cell's own forecast, null where it has none
 */
export function lotForecast(
  young: LotCell,
  finished: readonly FinishedCell[],
  beyond: Beyond,
  own: OwnForecast | null = ownForecast(young.points, young.threshold, beyond),
): LotForecast | null {
  const lot = finished.filter((other) => other.cell !== young.cell);
  if (lot.length < LEAST_FINISHED) return null;
  const end = young.points.x[young.points.x.length - 1];
  const now = stageAt(young, end);
  if (now !== null && !isLike(young, now, lot)) return null;
  const predictors = [...atSameAge(lot, end, now), ...atSameStage(lot, now)];
  if (predictors.length === 0) return null;
  const experience = combine(predictors);
  return { parts: joined(experience, own?.parts ?? null), end, priorCells: experience.cells };
}

/** Whether the finished cells went the way that the young one has gone; true where it has hardly begun. */
function isLike(young: LotCell, now: Stage, lot: readonly FinishedCell[]): boolean {
  if (now.gone < LEAST_COMPARED) return true;
  const then = lot.flatMap((cell): CellAtStage[] => {
    const age = ageAtStage(cell, now.gone);
    return age === null || !(age > 0) ? [] : [{ cell, age }];
  });
  if (then.length < LEAST_FINISHED) return true;
  return isComparable({ cell: young, age: now.x }, now.gone, then, secondDifferenceNoise(young.points.y));
}

const featuresOf = (stage: Stage): number[] => [stage.gone, stage.tangent, Math.log(stage.x)];
const GONE = 0;
const TANGENT = 1;
const LOG_AGE = 2;

/** Finished cells that outlived the young one's age, as they were then. */
function atSameAge(lot: readonly FinishedCell[], end: number, now: Stage | null): LotPredictor[] {
  const alive = lot.filter((other) => other.life > end);
  const lives = alive.map((other) => ({
    cell: other.cell,
    response: Math.log(other.life / end),
    features: [],
  }));
  if (lives.length < LEAST_FINISHED) return [];
  const whole = [medianPredictor(lives)];
  if (now === null) return whole;
  const cases = alive.flatMap((other): ExperienceCase[] => {
    const then = stageAt(other, end);
    if (then === null) return [];
    return [{ cell: other.cell, response: Math.log(other.life / end), features: featuresOf(then) }];
  });
  if (cases.length < LEAST_FINISHED) return whole;
  const features = featuresOf(now);
  return [...whole, linePredictor(cases, features, GONE), linePredictor(cases, features, TANGENT)];
}

/** Finished cells when they had gone as far towards the limit as the young one has. */
function atSameStage(lot: readonly FinishedCell[], now: Stage | null): LotPredictor[] {
  if (now === null || now.gone < LEAST_STAGE) return [];
  const cases = lot.flatMap((other): ExperienceCase[] => {
    const at = ageAtStage(other, now.gone);
    const then = at === null || !(at < other.life) ? null : stageAt(other, at);
    if (then === null || at === null) return [];
    return [{ cell: other.cell, response: Math.log(other.life / at), features: featuresOf(then) }];
  });
  if (cases.length < LEAST_FINISHED) return [];
  const features = featuresOf(now);
  return [
    medianPredictor(cases),
    linePredictor(cases, features, TANGENT),
    linePredictor(cases, features, LOG_AGE),
  ];
}

/** The finished cells' answer as a mixture: one part for each of their errors, and a wide one. */
function mixtureOf({ value, errors }: CombinedExperience): MixturePart[] {
  const n = errors.length;
  const spread = errorSpread(errors);
  const student = tQuantile(0.9, Math.max(n - 2, 1)) / normalQuantile(0.9);
  // Silverman's rule for the width of a kernel; half of it, the errors being more peaked than a normal distribution.
  const width = Math.max(0.5 * spread * n ** -0.2, 2e-3) * student;
  const parts = errors.map((error) => ({
    weight: (1 - UNLIKE) / n,
    mean: value + student * error,
    sd: width,
  }));
  return [...parts, { weight: UNLIKE, mean: value, sd: UNLIKE_FACTOR * spread }];
}

/** Product of the finished cells' answer and the cell's own, on a grid of ln x beyond the present age. */
function joined(experience: CombinedExperience, own: readonly MixturePart[] | null): MixturePart[] {
  const lot = mixtureOf(experience);
  if (own === null || own.every((part) => part.mean === Infinity)) return lot;
  const parts: MixturePart[] = [];
  // Steps that grow with the distance: near the end of life a hundredth of a life counts.
  const at = (i: number): number => FARTHEST_LOG * (i / GRID_STEPS) ** 2;
  for (let i = 0; i < GRID_STEPS; i++) {
    const step = at(i + 1) - at(i);
    const mean = (at(i) + at(i + 1)) / 2;
    const weight = (mixtureDensity(lot, mean) * mixtureDensity(own, mean)) ** SHARED_POWER * step;
    if (weight > 0) parts.push({ weight, mean, sd: step / 2 });
  }
  return parts.length === 0 ? lot : parts;
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
