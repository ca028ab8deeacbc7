import { medianOf, scaledMad } from '../numeric/index.ts';
import {
  type AgeingQuantity,
  type CleanOptions,
  type CleanSeries,
  cleanSeries,
  endOfInitialRise,
  type LeftOutReason,
} from './cleanSeries.ts';
import { levelSteps } from './levelSteps.ts';
import { type AgeingPoints, ageingPoints } from './points.ts';

/** After a restart of the bench a cell needs some cycles to settle: points in this span, in units of x, are left out. */
const BEFORE_RESTART = 4;
const AFTER_RESTART = 20;
/** Restarts are not left out where that would take more than this share of a series. */
const MOST_LEFT_OUT = 0.15;

/** One cell's series of one quantity, ready for fits and forecasts. */
export interface PreparedSeries {
  /** As measured, one value an x; NaN where missing. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly clean: CleanSeries;
  /** What was left out, restarts included; indices into `x`. */
  readonly leftOut: readonly { readonly index: number; readonly reason: LeftOutReason }[];
  /** Points for the fits: from the end of the initial rise on, without those left out. Null below 3. */
  readonly points: AgeingPoints | null;
  /** Running median at `points`. */
  readonly smooth: Float64Array;
  /** First value that was not left out. */
  readonly firstMeasured: number | null;
  /** x of the last value above 0, whether it is used or not; null where there is none. */
  readonly lastMeasuredAt: number | null;
  /** Running median at the end of the initial rise. */
  readonly initial: number | null;
}

/** Values of the same x (several measurements in one cycle) averaged, x rising. */
export function averageRepeats(x: Float64Array, y: Float64Array): { x: Float64Array; y: Float64Array } {
  const groups = new Map<number, { sum: number; count: number }>();
  for (let i = 0; i < x.length; i++) {
    const group = groups.get(x[i]) ?? { sum: 0, count: 0 };
    if (Number.isFinite(y[i])) {
      group.sum += y[i];
      group.count++;
    }
    groups.set(x[i], group);
  }
  const keys = Float64Array.from(groups.keys()).sort();
  return {
    x: keys,
    y: keys.map((key) => {
      const group = groups.get(key);
      return group === undefined || group.count === 0 ? Number.NaN : group.sum / group.count;
    }),
  };
}

/**
 * Cleans a series and cuts it for the fits: from the end of its initial rise on, or after the last step of its level (`levelSteps`).
 *
 * @param restarts positions at which the whole bench restarted (`benchRestarts`); what follows within 20 is left out
 */
export function prepareSeries(
  x: Float64Array,
  y: Float64Array,
  quantity: AgeingQuantity,
  restarts: readonly number[] = [],
  options: CleanOptions = {},
): PreparedSeries {
  const clean = cleanSeries(x, y, quantity, options);
  const settling = (at: number): boolean =>
    restarts.some((restart) => at >= restart - BEFORE_RESTART && at <= restart + AFTER_RESTART);
  const from = endOfInitialRise(clean, quantity);
  const step = levelSteps(clean.y, clean.noise, quantity).at(-1)?.index ?? 0;
  const kept: number[] = [];
  const leftOut = [...clean.leftOut];
  const inside = clean.x.filter(settling).length;
  const respected = inside <= MOST_LEFT_OUT * clean.x.length && clean.x.length - inside >= 8;
  clean.x.forEach((at, k) => {
    if (k < step) leftOut.push({ index: clean.index[k], reason: 'before-step' });
    else if (respected && settling(at)) leftOut.push({ index: clean.index[k], reason: 'restart' });
    else if (k >= from) kept.push(k);
  });
  leftOut.sort((a, b) => a.index - b.index);
  const pick = (values: Float64Array): Float64Array => Float64Array.from(kept, (k) => values[k]);
  return {
    x,
    y,
    clean,
    leftOut,
    points: kept.length >= 3 ? ageingPoints(pick(clean.x), pick(clean.y)) : null,
    smooth: pick(clean.smooth),
    firstMeasured: clean.y[0] ?? null,
    lastMeasuredAt: x[y.findLastIndex((value) => value > 0)] ?? null,
    initial: clean.smooth[from] ?? null,
  };
}

/**
 * Cells that carry on from another campaign: their first values lie far off the lot's (more than 6 robust standard
 * deviations and 3 %) on the aged side. False for all where there are fewer than 5 cells.
 *
 * @param initial of each cell; null where unknown
 */
export function carriedOver(initial: readonly (number | null)[], quantity: AgeingQuantity): boolean[] {
  const known = initial.filter((value): value is number => value !== null);
  if (known.length < 5) return initial.map(() => false);
  const middle = medianOf(known);
  const spread = scaledMad(known);
  const healthy = quantity === 'capacity' ? 1 : -1;
  return initial.map((value) => {
    if (value === null) return false;
    const aged = healthy * (middle - value);
    return aged > 6 * spread && aged > 0.03 * middle;
  });
}
