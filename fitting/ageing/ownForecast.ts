import { tQuantile } from '../statistics/index.ts';
import type { FadeShape } from './fadeShapes.ts';
import { compressParts, type MixturePart } from './logMixture.ts';
import type { AgeingPoints } from './points.ts';
import { backwards, fitShapes, forwards, type ShapeFit, type ShapeFits } from './shapeFit.ts';

/** Which way a limit is crossed. */
export type Beyond = 'below' | 'above';

/** A curve that can be continued beyond the data. */
export interface Continuation {
  /** The curve at x. */
  value(x: number): number;
}

/** A forecast from a cell's own points: a mixture in ln(x / last x). */
export interface OwnForecast {
  readonly parts: readonly MixturePart[];
  /** The shapes that the data support, continued, with their belief; none of them bends beyond the data. */
  readonly curves: readonly { readonly curve: Continuation; readonly weight: number }[];
  /** Last x of the points. */
  readonly end: number;
  /** Probability that the curve bends after the data and before the limit. */
  readonly bendAhead: number;
}

/** A limit farther off than this multiple of the observed range is "never". */
const FARTHEST = 30;
/**
 * Bends to come: a straight line has bent by the time its age has grown by h in ln x with the probability 1 −
 * exp(−(h/BEND_SCALE)^BEND_POWER), 46 % where the observed range doubles. The power lies below 1 because cells differ
 * in how prone they are. Knees are common, and no data before them announce them (Attia et al. 2022, see
 * `FADE_SHAPES`). All figures here are ours, set so that the intervals hold on the bench's simulated fleets and on the
 * 27 cells of Severson et al. (2019).
 */
const BEND_SCALE = 1.3;
const BEND_POWER = 0.75;
/** By how much the curve is steeper after a bend to come, equally likely. */
const BEND_FACTORS = [2, 5, 12];
/**
 * Slowing to come: a fade that has slowed down may do so further, the more often the flatter it has become against its mean slope;
 * a straight line or a curve that steepens does not. By how much the curve is flatter after it, equally likely. Ours.
 */
const SLOWING_SCALE = 6;
const SLOWING_FACTORS = [0.6, 0.3];
const MOST_SLOWING = 4;
/** Equally likely moments of a bend before the limit, and values of the uncertain coefficients. */
const BEND_MOMENTS = middles(8);
const COEFFICIENT_POINTS = middles(5);
/**
 * How often a curve bends further depends on how steep it is at the end of the data against its mean slope over the last three quarters:
 * a curve that has begun to steepen does so up to twice as often as a line, one that slows down the less often the
 * flatter it has become, one that is much steeper than it was has had its knee.
 */
const MEAN_SLOPE_FROM = 0.25;
const ONSET_STEEPER = 0.25;
const ONSET_GAIN = 1;
const BENT_FROM = 1.4;
const BENT_POWER = 4;
const LEAST_RATE = 0.04;
/**
 * Uncertainty of the shape itself, as a share of the distance continued in ln x: where the residuals are noise, what is added where
 * the curve has bent already (the new stage is known from a part of the data only), and in proportion to the correlation of neighbouring
 * residuals.
 */
const FORM_SHARE = 0.015;
const FORM_SHARE_BENT = 0.05;
const FORM_SHARE_BY_CORRELATION = 0.015;
/** Least standard deviation in ln x, and what is added to it in the same proportion. */
const LEAST_SPREAD = 0.0015;
const LEAST_SPREAD_BY_CORRELATION = 0.011;
/** Share of the spread of the coefficients that stands between two of their points. */
const BETWEEN_POINTS = 0.35;

/** ln u of the table each curve is looked up in. */
const STEPS = 240;
const LOG_STEP = Math.log(FARTHEST) / STEPS;
/** Columns of every shape at those u, made when first asked for. */
const columnTables = new Map<FadeShape, Float64Array>();

function middles(count: number): number[] {
  return Array.from({ length: count }, (_, i) => (i + 0.5) / count);
}

function tableOf(shape: FadeShape): Float64Array {
  const known = columnTables.get(shape);
  if (known !== undefined) return known;
  const table = new Float64Array(shape.size * (STEPS + 1));
  for (let i = 0; i <= STEPS; i++) {
    shape.fill(Math.exp(i * LOG_STEP), table.subarray(i * shape.size, (i + 1) * shape.size));
  }
  columnTables.set(shape, table);
  return table;
}

/**
 * Continues a cell's own series to a limit: an average over generic shapes of fade, each by the belief that the data leave
 * it (`fitShapes`), with the uncertainty of its coefficients (Student's t), and with bends to steeper curves that may still come.
 * That no data announce such a bend is part of the answer's width.
 *
 * @param points of one cell, from the end of its initial rise on
 * @returns null where there are fewer than 3 points, or no shape goes towards the limit
 */
export function ownForecast(points: AgeingPoints, threshold: number, beyond: Beyond): OwnForecast | null {
  const n = points.x.length;
  const end = points.x[n - 1];
  if (n < 3 || !(end > 0)) return null;
  const towards = beyond === 'below' ? -1 : 1;
  const fitted = fitShapes(points, towards);
  if (fitted === null || fitted.fits.length === 0) return null;
  const samples: MixturePart[] = [];
  let bent = 0;
  for (const fit of fitted.fits) bent += sampleShape(fit, fitted, threshold, towards, samples);
  return {
    parts: compressParts(samples),
    curves: fitted.fits.map((fit) => ({ curve: continuationOf(fit, end), weight: fit.weight })),
    end,
    bendAhead: bent,
  };
}

function continuationOf({ shape, coefficients }: ShapeFit, end: number): Continuation {
  const row = new Float64Array(shape.size);
  return {
    value: (x) => {
      shape.fill(x / end, row);
      let sum = 0;
      for (let a = 0; a < shape.size; a++) sum += coefficients[a] * row[a];
      return sum;
    },
  };
}

/** Adds the crossings of one shape to `samples`; returns the belief in a bend before the crossing. */
function sampleShape(
  fit: ShapeFit,
  { independent, correlation }: ShapeFits,
  threshold: number,
  towards: number,
  samples: MixturePart[],
): number {
  const { shape, coefficients, precisionRoot, meanSquare, weight } = fit;
  const { size } = shape;
  const table = tableOf(shape);
  const path = pathOf(table, coefficients, size);
  const central = crossing(path, threshold, towards, 0);
  const at = Math.min(Math.round((central ?? STEPS * LOG_STEP) / LOG_STEP), STEPS);
  // The direction in which the coefficients' uncertainty moves the crossing most.
  const along = forwards(precisionRoot, table.subarray(at * size, (at + 1) * size), size);
  const length = Math.sqrt(along.reduce((sum, value) => sum + value * value, 0));
  const direction = pathOf(table, backwards(precisionRoot, along, size), size).map((value) => value / length);
  const degrees = Math.max(independent - size, 1);
  const spread = Math.sqrt(meanSquare / Math.max(1 - size / independent, 0.3) / independent);

  const least = LEAST_SPREAD + LEAST_SPREAD_BY_CORRELATION * correlation;
  const wander = Math.sqrt(correlation * meanSquare);
  const share = weight / COEFFICIENT_POINTS.length;
  const steeper = steepening(shape, coefficients);
  const rate = bendRate(steeper);
  const slowing = slowingRate(steeper);
  const form = FORM_SHARE + FORM_SHARE_BENT * Math.max(1 - rate, 0) + FORM_SHARE_BY_CORRELATION * correlation;
  let bent = 0;
  for (const p of COEFFICIENT_POINTS) {
    const shift = spread * tQuantile(p, degrees);
    const moved = path.map((value, i) => value + shift * direction[i]);
    const smear = Math.hypot(BETWEEN_POINTS * spread * length, wander);
    bent += sampleCurve(moved, { threshold, towards, share, smear, form, least, rate, slowing }, samples);
  }
  return bent;
}

function pathOf(table: Float64Array, coefficients: ArrayLike<number>, size: number): Float64Array {
  const path = new Float64Array(STEPS + 1);
  for (let i = 0; i <= STEPS; i++) {
    let sum = 0;
    for (let a = 0; a < size; a++) sum += coefficients[a] * table[i * size + a];
    path[i] = sum;
  }
  return path;
}

interface CurveTask {
  readonly threshold: number;
  readonly towards: number;
  readonly share: number;
  /** Standard deviation in y at the crossing. */
  readonly smear: number;
  /** Share of ln x by which the shape is uncertain. */
  readonly form: number;
  readonly least: number;
  /** Bends in ln x, relative to a straight line's. */
  readonly rate: number;
  /** Further slowing, relative to a curve that is half as steep as it was in the mean. */
  readonly slowing: number;
}

/** Slope at the end of the data over the mean slope of its last three quarters; null where the curve has turned round. */
function steepening(shape: FadeShape, coefficients: Float64Array): number | null {
  const row = new Float64Array(shape.size);
  const at = (u: number): number => {
    shape.fill(u, row);
    return row.reduce((sum, value, a) => sum + value * coefficients[a], 0);
  };
  const step = 1e-3;
  const slope = (at(1 + step) - at(1 - step)) / (2 * step);
  const mean = (at(1) - at(MEAN_SLOPE_FROM)) / (1 - MEAN_SLOPE_FROM);
  return slope * mean > 0 ? slope / mean : null;
}

/** How often a curve bends further, relative to a straight line. */
function bendRate(steeper: number | null): number {
  // A curve that in the mean went away from its limit has turned round: that was its bend.
  if (steeper === null) return LEAST_RATE;
  const onset = 1 + ONSET_GAIN * Math.min(Math.max((steeper - 1) / ONSET_STEEPER, 0), 1);
  const slowing = Math.min(steeper, 1);
  return Math.max(slowing * onset * Math.min((BENT_FROM / steeper) ** BENT_POWER, 1), LEAST_RATE);
}

/** How often a curve slows down further: 0 for a line and for a curve that steepens, 1 for one that is half as steep as its mean. */
function slowingRate(steeper: number | null): number {
  if (steeper === null) return 0;
  return Math.min(Math.max(1 / steeper - 1, 0), MOST_SLOWING);
}

/** Crossings of one curve: as it is, and with a bend or a slowing at each of the likely moments before its crossing. */
function sampleCurve(path: Float64Array, task: CurveTask, samples: MixturePart[]): number {
  const { threshold, towards, share } = task;
  const plain = crossing(path, threshold, towards, 0);
  const part = (mean: number | null, weight: number, steeper: number, between: number): void => {
    if (mean === null) samples.push({ weight, mean: Infinity, sd: 0 });
    else samples.push({ weight, mean, sd: Math.hypot(spreadAt(path, mean, task, steeper), between) });
  };
  const reach = plain ?? STEPS * LOG_STEP;
  const changes = (scale: number, factors: readonly number[], most: number): number => {
    const changed = -Math.expm1(-((reach / scale) ** BEND_POWER));
    const moments = BEND_MOMENTS.map((p) => scale * (-Math.log1p(-p * changed)) ** (1 / BEND_POWER));
    const perMoment = (most * changed) / moments.length;
    for (const factor of factors) {
      const crossings = moments.map((moment) => {
        const at = moment / LOG_STEP;
        const from = Math.floor(at);
        const level = path[from] + (at - from) * (path[Math.min(from + 1, STEPS)] - path[from]);
        const bent = crossing(path, level + (threshold - level) / factor, towards, from);
        return bent === null ? null : Math.max(bent, moment);
      });
      crossings.forEach((bent, i) => {
        const next = crossings[i + 1] ?? plain ?? bent;
        // Each moment represents the stretch around it.
        const between = bent === null || next === null ? 0 : Math.abs(next - bent) / Math.sqrt(12);
        part(bent, perMoment / factors.length, factor, between);
      });
    }
    return changed;
  };
  const bends = changes(BEND_SCALE / task.rate, BEND_FACTORS, share);
  const slows =
    task.slowing === 0 ? 0 : changes(SLOWING_SCALE / task.slowing, SLOWING_FACTORS, share * (1 - bends));
  part(plain, share * (1 - bends) * (1 - slows), 1, 0);
  return share * bends;
}

/** Standard deviation of ln x at a crossing: what moves the level, over the slope there, and what the shape leaves open. */
function spreadAt(path: Float64Array, mean: number, task: CurveTask, steeper: number): number {
  const at = Math.min(Math.max(Math.floor(mean / LOG_STEP), 0), STEPS - 1);
  const slope = (steeper * Math.abs(path[at + 1] - path[at])) / LOG_STEP;
  const level = slope > 0 ? task.smear / slope : 1;
  return Math.min(Math.hypot(level, task.form * mean, task.least), 1);
}

/** ln u at which a path lies beyond the level, from step `from` on; 0 where it does at once, null where it never does. */
function crossing(path: Float64Array, level: number, towards: number, from: number): number | null {
  for (let i = from; i <= STEPS; i++) {
    const past = towards * (path[i] - level);
    if (!(past > 0)) continue;
    if (i === from) return i * LOG_STEP;
    const before = towards * (path[i - 1] - level);
    return (i - past / (past - before)) * LOG_STEP;
  }
  return null;
}

/**
 * First x ≥ `end` at which the curve lies beyond the threshold, by geometric steps and bisection; null where it does not within 30 times
 * the observed range.
 */
export function crossingOf(fit: Continuation, threshold: number, beyond: Beyond, end: number): number | null {
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
