import {
  estimateOf,
  type FitResult,
  fitYorkLine,
  inversePrediction,
  type YorkProblem,
} from '../../../fitting/least-squares/index.ts';
import { medianOf, rootIn } from '../../../fitting/numeric/index.ts';
import { mean, tQuantile } from '../../../fitting/statistics/index.ts';
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

type Estimate = NonNullable<LotLine['slope']>;

type Line = Pick<
  LotLine,
  'n' | 'intercept' | 'slope' | 'scatter' | 'band' | 'residualChecks' | 'inverse' | 'reason'
>;

/**
 * The line with errors in both coordinates through the cells of a lot. Where the cells scatter by more than their
 * uncertainties, the rest of the scatter is their own; the line is that with all of it in y, and as the values do not tell
 * which quantity it belongs to, the intervals reach to the line with all of it in x (the bounds of R. Frisch, Statistical Confluence
 * Analysis, 1934; from memory). Student's t is used then. Where they scatter less, the stated uncertainties count.
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
  const excess = wider ? excessOfY(problem) : null;
  const line = excess?.line ?? known;
  const factor = tQuantile(0.975, wider ? degrees : Number.POSITIVE_INFINITY);
  const other = wider ? steepestLine(problem, factor) : null;
  const ends = [Math.min(...x), Math.max(...x)] as const;
  const ofY = shown(line, 'slope', factor);
  const slope = wider ? reaching(ofY, other?.slopes ?? null, factor) : ofY;
  const inverse = at === undefined ? null : inverseOf(line, at, ends);
  return {
    ...none,
    intercept: wider
      ? reaching(shown(line, 'intercept', factor), other && interceptsOf(points, other.slopes), factor)
      : shown(line, 'intercept', factor),
    slope,
    scatter,
    band: bandOf(line, ends, factor, Math.hypot(expectedDistance(known, points), excess?.deviation ?? 0)),
    residualChecks: checkResiduals(scaledDistances(known, points)),
    inverse: inverse && wider && at !== undefined ? alsoOf(inverse, other?.xAt(at) ?? null) : inverse,
  };
}

/**
 * The line where all of the scatter beyond the uncertainties is the cells' own in y: the standard deviation that makes the sum of
 * squares what it is expected to be (the moment estimate of a random effect; R. C. Paule and J. Mandel, J. Res. NBS 87 (1982) 377).
 */
function excessOfY(problem: YorkProblem): { line: FitResult; deviation: number } {
  const { y, yWeights } = problem;
  const degrees = y.length - 2;
  const lineWith = (deviation: number): FitResult =>
    fitYorkLine({ ...problem, yWeights: yWeights.map((weight) => 1 / (1 / weight + deviation ** 2)) });
  const beyond = (deviation: number): number => (lineWith(deviation).residualSumOfSquares ?? 0) - degrees;
  const spread = Math.max(...y) - Math.min(...y);
  const deviation = rootIn(beyond, 0, spread);
  return { line: lineWith(deviation), deviation };
}

/** Where all of it is the cells' own in x: the slopes that the line may then have, and x at a y. Null where any slope may be. */
function steepestLine(
  { x, y, xWeights, yWeights }: YorkProblem,
  factor: number,
): { slopes: readonly [number, number]; xAt: (value: number) => readonly [number, number] } | null {
  const { line } = excessOfY({ x: y, y: x, xWeights: yWeights, yWeights: xWeights });
  const { low, high } = shown(line, 'slope', factor);
  const { covariance } = line;
  if (low === null || high === null || covariance === null || (low <= 0 && high >= 0)) return null;
  const [intercept, slope] = ['intercept', 'slope'].map((name) => estimateOf(line, name).value);
  return {
    slopes: [1 / high, 1 / low],
    xAt: (value) => {
      const variance = covariance[0][0] + 2 * value * covariance[0][1] + value ** 2 * covariance[1][1];
      const half = factor * Math.sqrt(Math.max(0, variance));
      return [intercept + slope * value - half, intercept + slope * value + half];
    },
  };
}

/**
 * An estimate whose interval goes from that of the one to that of the other way to share the cells' scatter out: which it is,
 * the values do not tell.
 */
function reaching(one: Estimate, others: readonly [number, number] | null, factor: number): Estimate {
  if (one.low === null || one.high === null || others === null)
    return { ...one, standardError: null, low: null, high: null };
  const [low, high] = [Math.min(one.low, ...others), Math.max(one.high, ...others)];
  return { ...one, standardError: (high - low) / 2 / factor, low, high };
}

function interceptsOf(
  points: readonly LinePoint[],
  slopes: readonly [number, number],
): readonly [number, number] {
  const [x, y] = [mean(points.map((point) => point.x)), mean(points.map((point) => point.y))];
  return [y - slopes[0] * x, y - slopes[1] * x];
}

function alsoOf(
  inverse: NonNullable<LotLine['inverse']>,
  other: readonly [number, number] | null,
): NonNullable<LotLine['inverse']> {
  if (inverse.low === null || inverse.high === null || other === null)
    return { ...inverse, x: null, low: null, high: null, reason: 'interval-open' };
  return { ...inverse, low: Math.min(inverse.low, ...other), high: Math.max(inverse.high, ...other) };
}

function shown(line: FitResult, name: 'intercept' | 'slope', factor: number): Estimate {
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
