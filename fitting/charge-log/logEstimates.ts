import type { FitResult } from '../least-squares/index.ts';
import type { CurveErrors } from './curveErrors.ts';
import type { LogParameter } from './logParameters.ts';
import type { LogProblem } from './logProblem.ts';

/** A cell that a log leaves full, with the SOC that its study has there. */
export interface FullEnd {
  readonly cell: number;
  readonly soc: number;
}

/** One fitted parameter with its 95 % interval; null with the reason why there is none. */
export interface LogEstimate extends LogParameter {
  /** Of a correction of the OCV: where on the curve; null for all others. */
  readonly soc: number | null;
  readonly before: number;
  readonly value: number;
  readonly standardError: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly reason: string | null;
}

/** Two parameters that the logs hardly tell apart: |correlation| of the estimates above 0.98. */
export interface InseparablePair {
  readonly a: LogParameter;
  readonly b: LogParameter;
  readonly correlation: number;
}

/** 97.5 % quantile of the normal distribution. */
export const NORMAL_95 = 1.959963984540054;
const INSEPARABLE = 0.98;

const CHANNEL_ERRORS: readonly string[] = ['voltageOffsetV', 'currentOffsetA', 'edgeFraction', 'ocvKnotV'];
/** Parameters that are known beforehand within an uncertainty and are not what is asked. */
export const isChannelError = ({ quantity }: LogParameter): boolean => CHANNEL_ERRORS.includes(quantity);

/** Values of a fit's parameters, in their order. */
export const valuesOf = (fit: FitResult): Float64Array =>
  Float64Array.from(fit.parameters, ({ value }) => value);

/** What decides on the intervals beside the covariance. */
interface OpenAfterFit {
  readonly held: ReadonlySet<LogParameter>;
  readonly explains: boolean;
  readonly curve: CurveErrors;
  readonly fullEnds: readonly (FullEnd | null)[];
}

/** The fitted parameters with their intervals, or why a parameter has none. */
export function estimatesOf(
  problem: LogProblem,
  fit: FitResult,
  start: Float64Array,
  { held, explains, curve, fullEnds }: OpenAfterFit,
): LogEstimate[] {
  const offCells = cellsWithOffChannel(problem, fit);
  const only = (p: number): Float64Array =>
    Float64Array.from(problem.parameters, (_, q) => (p === q ? 1 : 0));
  const offScale = cellsOffScale(problem, fit, fullEnds);
  const besideFull = endsBesideFull(problem, fit, fullEnds);
  return problem.parameters.map((parameter, p) => {
    const { value, ...found } = fit.parameters[p];
    const withheld = held.has(parameter)
      ? 'held-at-study'
      : offCells.has(parameter.cell) && !isChannelError(parameter)
        ? 'voltage-channel-off'
        : !explains
          ? 'does-not-explain-the-log'
          : ON_THE_SCALE.includes(parameter.quantity) && offScale.has(parameter.cell)
            ? 'full-end-contradicted'
            : null;
    const { reason, ...own } = withheld === null ? found : { standardError: null, reason: withheld };
    const standardError =
      own.standardError === null
        ? null
        : Math.hypot(
            own.standardError,
            Math.sqrt(curve.varianceOf(only(p))),
            problem.scaleError(parameter, value),
            parameter.quantity === 'startSoc' ? (besideFull.get(parameter.cell) ?? 0) / Math.sqrt(3) : 0,
          );
    const half = standardError === null ? null : NORMAL_95 * standardError;
    return {
      ...parameter,
      soc: problem.socOf(parameter),
      before: start[p],
      value,
      standardError,
      low: half === null ? null : value - half,
      high: half === null ? null : value + half,
      reason,
    };
  });
}

/**
 * Cells whose voltage channel is off by more than its stated uncertainty allows. Whether it has an offset or a gain error, the log does not
 * tell; a gain error moves the other values of the cell.
 */
export function cellsWithOffChannel(problem: LogProblem, fit: FitResult): ReadonlySet<number | null> {
  return new Set(
    problem.parameters.flatMap((parameter, p) =>
      problem.isOff(parameter, fit.parameters[p].value) ? [parameter.cell] : [],
    ),
  );
}

const ON_THE_SCALE: readonly string[] = ['capacityAh', 'startSoc'];
/** End current and resistance decide where full is; they move it by less than this share of the capacity. */
const FULL_WITHIN = 0.015;

/**
 * Cells that a log leaves full while the fitted capacity and start SOC put its end elsewhere: full is the same SOC at every age, so the
 * curve's scale is not that of the cell.
 */
function cellsOffScale(
  problem: LogProblem,
  fit: FitResult,
  fullEnds: OpenAfterFit['fullEnds'],
): ReadonlySet<number | null> {
  const values = valuesOf(fit);
  const off = new Set<number | null>();
  fullEnds.forEach((full, log) => {
    if (full === null) return;
    const at = problem.parameters.findIndex(
      ({ quantity, cell }) => quantity === 'capacityAh' && cell === full.cell,
    );
    if (at < 0) return;
    const { value, standardError } = fit.parameters[at];
    const end = problem.socs(values, log, full.cell).at(-1) ?? full.soc;
    if (Math.abs(end - full.soc) > FULL_WITHIN + (NORMAL_95 * (standardError ?? 0)) / value)
      off.add(full.cell);
  });
  return off;
}

/**
 * How far from full the fit puts the end of a log that left the cell full, where its capacity is not fitted: start and end
 * then differ by the counted charge alone, and one of two places for the start is as good as the other.
 */
function endsBesideFull(
  problem: LogProblem,
  fit: FitResult,
  fullEnds: OpenAfterFit['fullEnds'],
): ReadonlyMap<number | null, number> {
  const values = valuesOf(fit);
  const beside = new Map<number | null, number>();
  fullEnds.forEach((full, log) => {
    if (full === null) return;
    if (problem.parameters.some(({ quantity, cell }) => quantity === 'capacityAh' && cell === full.cell))
      return;
    const end = problem.socs(values, log, full.cell).at(-1) ?? full.soc;
    beside.set(full.cell, Math.max(beside.get(full.cell) ?? 0, Math.abs(end - full.soc)));
  });
  return beside;
}

/** Pairs of parameters that the logs hardly tell apart. */
export function inseparablePairs(problem: LogProblem, fit: FitResult): InseparablePair[] {
  const pairs: InseparablePair[] = [];
  const { correlation } = fit;
  if (correlation === null) return pairs;
  problem.parameters.forEach((a, i) => {
    problem.parameters.forEach((b, j) => {
      if (j > i && Math.abs(correlation[i][j]) > INSEPARABLE)
        pairs.push({ a, b, correlation: correlation[i][j] });
    });
  });
  return pairs;
}
