import {
  estimateOf,
  type FitResult,
  fitYorkLine,
  inversePrediction,
} from '../../../fitting/least-squares/index.ts';
import { medianOf } from '../../../fitting/numeric/index.ts';
import { tQuantile } from '../../../fitting/statistics/index.ts';
import type { LotLine } from '../../contract/lotLine.ts';
import { checkResiduals } from '../checkResiduals.ts';

/** Two quantities of one cell with their standard uncertainties. */
export interface LinePoint {
  readonly x: number;
  readonly y: number;
  readonly xUncertainty: number;
  readonly yUncertainty: number;
}

/** Fewest cells for a line with an interval that means something. */
const FEWEST = 4;
const BAND_POINTS = 25;

type Line = Pick<
  LotLine,
  'n' | 'intercept' | 'slope' | 'scatter' | 'band' | 'residualChecks' | 'inverse' | 'reason'
>;

/**
 * The line with errors in both coordinates through the cells of a lot. Where the cells scatter by more than their
 * uncertainties, the covariance is widened by that scatter and Student's t is used; where they scatter less, the stated
 * uncertainties count.
 *
 * @param at a value of y whose x is wanted; undefined for none
 */
export function lineBetween(points: readonly LinePoint[], at?: number): Line {
  const none: Line = {
    n: points.length,
    intercept: null,
    slope: null,
    scatter: null,
    band: [],
    residualChecks: null,
    inverse: null,
    reason: null,
  };
  if (points.length < FEWEST) return { ...none, reason: 'too-few-cells' };
  const column = (of: (point: LinePoint) => number): Float64Array => Float64Array.from(points, of);
  const [x, y] = [column((point) => point.x), column((point) => point.y)];
  if (new Set(x).size < 2 || new Set(y).size < 2) return { ...none, reason: 'no-spread' };
  const problem = {
    x,
    y,
    xWeights: column((point) => 1 / point.xUncertainty ** 2),
    yWeights: column((point) => 1 / point.yUncertainty ** 2),
  };
  const known = fitYorkLine(problem);
  const degrees = points.length - 2;
  const scatter =
    known.residualSumOfSquares === null ? null : Math.sqrt(known.residualSumOfSquares / degrees);
  if (scatter === null || known.covariance === null) return { ...none, reason: 'no-spread' };
  const wider = scatter > 1;
  const line = wider ? fitYorkLine(problem, { covarianceScale: 'residual' }) : known;
  const factor = tQuantile(0.975, wider ? degrees : Number.POSITIVE_INFINITY);
  const ends = [Math.min(...x), Math.max(...x)] as const;
  return {
    ...none,
    intercept: shown(line, 'intercept', factor),
    slope: shown(line, 'slope', factor),
    scatter,
    band: bandOf(line, ends, factor, Math.max(scatter, 1) * expectedDistance(line, points)),
    residualChecks: checkResiduals(scaledDistances(line, points)),
    inverse: at === undefined ? null : inverseOf(line, at, ends),
  };
}

function shown(line: FitResult, name: 'intercept' | 'slope', factor: number): LotLine['slope'] {
  const { value, standardError } = estimateOf(line, name);
  const half = standardError === null ? null : factor * standardError;
  return {
    value,
    standardError,
    low: half === null ? null : value - half,
    high: half === null ? null : value + half,
  };
}

/** What the uncertainties make of the distance of a point from the line, along y. */
function uncertaintyOff(slope: number, { xUncertainty, yUncertainty }: LinePoint): number {
  return Math.hypot(yUncertainty, slope * xUncertainty);
}

/** That of a typical cell. */
function expectedDistance(line: FitResult, points: readonly LinePoint[]): number {
  const slope = estimateOf(line, 'slope').value;
  return medianOf(points.map((point) => uncertaintyOff(slope, point)));
}

/** Distances from the line, each over its uncertainty, in order of x. */
function scaledDistances(line: FitResult, points: readonly LinePoint[]): number[] {
  const [intercept, slope] = ['intercept', 'slope'].map((name) => estimateOf(line, name).value);
  const ordered = [...points].sort((a, b) => a.x - b.x);
  return ordered.map((point) => (point.y - intercept - slope * point.x) / uncertaintyOff(slope, point));
}

/** @param cellDeviation standard deviation of one cell's reading about the line */
function bandOf(
  line: FitResult,
  [from, to]: readonly [number, number],
  factor: number,
  cellDeviation: number,
): LotLine['band'] {
  const { covariance } = line;
  if (!covariance) return [];
  const [intercept, slope] = ['intercept', 'slope'].map((name) => estimateOf(line, name).value);
  return Array.from({ length: BAND_POINTS }, (_, k) => {
    const x = from + (k / (BAND_POINTS - 1)) * (to - from);
    const y = intercept + slope * x;
    const variance = covariance[0][0] + 2 * x * covariance[0][1] + x * x * covariance[1][1];
    const half = factor * Math.sqrt(Math.max(0, variance));
    const cell = Math.hypot(half, factor * cellDeviation);
    return { x, y, low: y - half, high: y + half, cellLow: y - cell, cellHigh: y + cell };
  });
}

function inverseOf(
  line: FitResult,
  at: number,
  [from, to]: readonly [number, number],
): NonNullable<LotLine['inverse']> {
  const region = inversePrediction(line, at);
  if (region.kind !== 'closed' || region.ratio === null)
    return { at, x: null, low: null, high: null, reason: 'interval-open' };
  const outside = region.ratio < from || region.ratio > to;
  return {
    at,
    x: region.ratio,
    low: region.low,
    high: region.high,
    reason: outside ? 'outside-cells' : null,
  };
}
