import { BRANCH, type CompiledCell, OCV, R0, SLOPE } from '../charging/index.ts';
import { monotoneCurve } from '../numeric/index.ts';

/** Corrections of an OCV curve, each known to be 0 within a standard uncertainty. */
export interface OcvKnots {
  /** Ascending. */
  readonly soc: readonly number[];
  readonly standardUncertaintyV: readonly number[];
  /** What the curve with straight corrections may still be off between two of them, V (standard uncertainty). */
  readonly remainderV: number;
  /** Standard uncertainty of the curve's whole SOC scale against that of a log. */
  readonly socScale: number;
}

/** What is known of an OCV curve before a fit. */
export interface CurveKnowledge {
  /** Standard uncertainty asked for from SOC to SOC; null: that of the curve's own points. */
  readonly askedV: number | null;
  /** Standard uncertainty of the curve's points as the study states it; null: the points are taken as they are. */
  readonly statedV: number | null;
  /** Largest current of the logs, A: turns the scatter of the resistances from point to point into a voltage. */
  readonly currentA: number;
  /** Of the logs, °C. */
  readonly temperatureC: number;
}

/** Spacing of the corrections within the curve's points in SOC. */
const INSIDE_SPACING = 0.05;
/** Where the curve's own uncertainty is stated. */
const STATED_SPACING = 0.03;
/** SOC of the curve's points against those of a log, counted by another channel: 0.2 %; common practice, no source. */
const COUNTED_SHARE = 0.002;
/** Below its lowest point a curve bends within a percent of SOC. */
const OUTSIDE_SPACING = 0.005;
/** An OCV outside its points is not known: loose enough to leave it to the log. */
const OUTSIDE_V = 0.3;
/** A curve is taken to hold this far beyond its points. */
const BEYOND = 0.005;
/** What a curve's stated error does between corrections a few percent of SOC apart, as a share of it; common practice, no source. */
const BETWEEN_SHARE = 0.1;
/** Between points at half the distance the error of a curve without corners falls to a quarter, with corners to a half. */
const HALF_DISTANCE = 0.5;
/** A correction where none is allowed for. */
const FIXED_V = 1e-6;

/**
 * Where the OCV of a cell may differ from its curve in a log, and how far: at the curve's points within their uncertainty, half-way
 * between them within the error of the interpolation too, and outside them freely. Null where the log stays within points that are exact.
 *
 * At a constant current, OCV and resistances over SOC are one curve. So the corrections also hold the scatter of the measured resistances
 * from point to point. Scatter and interpolation error are estimated by leaving out each inner point in turn and reading the curve
 * through the others; of the interpolation error half is taken, because the points then lie half as far apart. Between two points it
 * follows 2 √(f (1 − f)) of the way f, as a path that is tied down at both ends.
 *
 * @param visited range of SOC that the log goes through
 */
export function ocvKnots(
  cell: CompiledCell,
  visited: { readonly low: number; readonly high: number },
  known: CurveKnowledge,
): OcvKnots | null {
  const { soc: grid } = cell.model;
  const [first, last] = [grid[0], grid[grid.length - 1]];
  const below = visited.low < first - BEYOND ? spaced(visited.low, first) : [];
  const above = visited.high > last + BEYOND ? spaced(last, visited.high) : [];
  const inside = insideKnots(cell, known);
  if (inside === null && below.length === 0 && above.length === 0) return null;
  const within = inside ?? {
    soc: [first, last],
    standardUncertaintyV: [FIXED_V, FIXED_V],
    remainderV: 0,
    socScale: 0,
  };
  const lower = below.filter((soc) => soc < within.soc[0] - FIXED_V);
  const upper = above.filter((soc) => soc > within.soc[within.soc.length - 1] + FIXED_V);
  const unknown = (socs: readonly number[]): number[] => socs.map(() => OUTSIDE_V);
  return {
    soc: [...lower, ...within.soc, ...upper],
    standardUncertaintyV: [...unknown(lower), ...within.standardUncertaintyV, ...unknown(upper)],
    remainderV: within.remainderV,
    socScale: within.socScale,
  };
}

/** From one SOC to another in steps of about {@link OUTSIDE_SPACING}, both ends among them. */
function spaced(from: number, to: number): number[] {
  const steps = Math.max(1, Math.round((to - from) / OUTSIDE_SPACING));
  return Array.from({ length: steps + 1 }, (_, k) => from + ((to - from) * k) / steps);
}

function insideKnots(
  cell: CompiledCell,
  { askedV, statedV, currentA, temperatureC }: CurveKnowledge,
): OcvKnots | null {
  const { soc: grid } = cell.model;
  const last = grid.length - 1;
  if (askedV !== null) {
    if (askedV === 0) return null;
    const steps = Math.max(1, Math.round((grid[last] - grid[0]) / INSIDE_SPACING));
    const soc = Array.from({ length: steps + 1 }, (_, k) => grid[0] + ((grid[last] - grid[0]) * k) / steps);
    const remainderV = HALF_DISTANCE ** 2 * askedV;
    return { soc, standardUncertaintyV: soc.map(() => askedV), remainderV, socScale: 0 };
  }
  if (statedV === null) return null;
  const { ocvV, slopeV, resistanceOhm } = tables(cell, temperatureC);
  const scatterV = currentA * rootMeanSquare(leftOutErrors(grid, resistanceOhm));
  const left = leftOutErrors(grid, ocvV);
  const usualV = rootMeanSquare(left);
  const soc: number[] = [];
  const standardUncertaintyV: number[] = [];
  let remainder = 0;
  grid.forEach((at, k) => {
    const pointV = (of: number): number =>
      Math.max(FIXED_V, Math.hypot(statedV, scatterV, COUNTED_SHARE * slopeV[of]));
    soc.push(at);
    standardUncertaintyV.push(pointV(k));
    if (k === last) return;
    const width = grid[k + 1] - at;
    const betweenV =
      HALF_DISTANCE * Math.max(Math.abs(left[k]), Math.abs(left[k + 1]), HALF_DISTANCE * usualV);
    const parts = Math.ceil(width / STATED_SPACING);
    remainder += (betweenV / parts) ** 2 / last;
    for (let i = 1; i < parts; i++) {
      const share = i / parts;
      soc.push(at + share * width);
      const ends = pointV(k) + share * (pointV(k + 1) - pointV(k));
      standardUncertaintyV.push(Math.hypot(ends, 2 * betweenV * Math.sqrt(share * (1 - share))));
    }
  });
  const remainderV = Math.hypot(Math.sqrt(remainder), BETWEEN_SHARE * statedV);
  return { soc, standardUncertaintyV, remainderV, socScale: COUNTED_SHARE };
}

/** OCV and the sum of all resistances at the points of the grid. */
function tables(
  cell: CompiledCell,
  temperatureC: number,
): { ocvV: Float64Array; slopeV: Float64Array; resistanceOhm: Float64Array } {
  const { soc: grid } = cell.model;
  const stretch = cell.temperatureStretch(temperatureC);
  const [ocvV, slopeV, resistanceOhm] = [grid.slice(), grid.slice(), grid.slice()];
  const out = new Float64Array(cell.stride);
  grid.forEach((soc, k) => {
    cell.evaluate(soc, temperatureC, cell.socStretch(soc), stretch, out, 0);
    ocvV[k] = out[OCV];
    slopeV[k] = out[SLOPE];
    resistanceOhm[k] = out[R0];
    for (let b = BRANCH; b < out.length; b += 2) resistanceOhm[k] += out[b] / out[b + 1];
  });
  return { ocvV, slopeV, resistanceOhm };
}

/** Inner points minus the monotone curve through all others; 0 at the ends, and where there are too few points to tell. */
function leftOutErrors(x: Float64Array, y: Float64Array): Float64Array {
  const errors = new Float64Array(x.length);
  if (x.length < 5) return errors;
  for (let k = 1; k < x.length - 1; k++) {
    const others = (values: Float64Array) => values.filter((_, i) => i !== k);
    errors[k] = y[k] - monotoneCurve(others(x), others(y)).at(x[k]);
  }
  return errors;
}

function rootMeanSquare(errors: Float64Array): number {
  return Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / Math.max(1, errors.length - 2));
}

/** The knots on both sides of a SOC with their weights; the end knots hold beyond the ends. */
export function forKnots(
  knots: readonly number[],
  soc: number,
  visit: (knot: number, weight: number) => void,
): void {
  const last = knots.length - 1;
  if (soc <= knots[0] || soc >= knots[last]) visit(soc <= knots[0] ? 0 : last, 1);
  else {
    let above = 1;
    while (knots[above] < soc) above += 1;
    const weight = (soc - knots[above - 1]) / (knots[above] - knots[above - 1]);
    visit(above - 1, 1 - weight);
    visit(above, weight);
  }
}
