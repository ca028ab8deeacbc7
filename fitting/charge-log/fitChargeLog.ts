import type { FitResult } from '../least-squares/index.ts';
import { fitLeastSquares } from '../least-squares/index.ts';
import { columnResolution } from '../records/index.ts';
import { type ChargeLog, findLogIssue, type InstrumentErrors } from './chargeLog.ts';
import { type CurveErrors, curveErrors, FROM_POINT_TO_POINT } from './curveErrors.ts';
import {
  cellsWithOffChannel,
  estimatesOf,
  type FullEnd,
  type InseparablePair,
  inseparablePairs,
  isChannelError,
  type LogEstimate,
  valuesOf,
} from './logEstimates.ts';
import type { CellToFit, KnownOffset, LogParameter } from './logParameters.ts';
import { LogProblem } from './logProblem.ts';
import { excess, misfitOf, type ResidualSummary, summarise, voltageVariance } from './logResiduals.ts';
import { type StepResistance, stepResistances } from './stepResistance.ts';

/** What a fit of logs needs. */
export interface LogFitRequest {
  /** Charges of one stack, its cells in the same order in each. */
  readonly logs: readonly ChargeLog[];
  readonly cells: readonly CellToFit[];
  readonly instrument: InstrumentErrors;
  /** Rows before this time of each log take no part. */
  readonly firstS: number;
  /** Where a log ends with a full cell, by log; null where it does not. */
  readonly fullEnds: readonly (FullEnd | null)[];
}

export interface LogFit {
  readonly estimates: readonly LogEstimate[];
  /** R0 and branches together, by cell and duration, where both are asked for. */
  readonly resistances: readonly StepResistance[];
  /** Standard uncertainty of each cell's open-circuit curve by what is stated and what the logs show, V; 0 where none is stated. */
  readonly curveShownV: readonly number[];
  /** Pairs that the logs hardly tell apart: |correlation| of the estimates above 0.98. */
  readonly inseparable: readonly InseparablePair[];
  readonly before: readonly ResidualSummary[];
  readonly after: readonly ResidualSummary[];
  /** Residual variance over that of noise, resolution and what the curve leaves open: near 1 where the model explains the log. */
  readonly misfit: number;
  /** Whether residuals and corrections of the curve are what noise and its uncertainty leave open; where not, no value has an interval. */
  readonly explains: boolean;
  readonly converged: boolean;
  readonly evaluations: number;
  /** Single changes, best first: share of the explicable sum of squares that each explains alone. */
  readonly singleChanges: readonly SingleChange[];
  readonly values: Float64Array;
}

/** Logs and cells laid out for comparison and fit. */
export interface PreparedLogs {
  readonly problem: LogProblem;
  /** Parameters before the fit. */
  readonly start: Float64Array;
  /** Variance of one row by log and cell, V². */
  readonly noise: readonly (readonly number[])[];
  readonly fullEnds: LogFitRequest['fullEnds'];
}

/** How much one parameter alone explains. */
export interface SingleChange extends LogParameter {
  readonly value: number;
  readonly explainedShare: number;
}

/** Enough for a residual of a hundredth of the noise; the published optimum is not asked for here. */
const OPTIONS = {
  offsetTolerance: 1e-6,
  costTolerance: 1e-9,
  stepTolerance: 1e-9,
  maxIterations: 60,
} as const;

/**
 * Lays out logs and cells: what is common to comparing and fitting.
 * @throws RangeError naming log, column and row where a log cannot be used (see `findLogIssue`).
 */
export function prepareLogs(request: LogFitRequest): PreparedLogs {
  request.logs.forEach((log, l) => {
    const issue = findLogIssue(log);
    if (issue !== null)
      throw new RangeError(`logs[${l}].${issue.column}: ${issue.code} (row ${issue.row}, ${issue.value})`);
  });
  const offsets = request.logs.map((log) => knownOffset(log, request.instrument));
  const problem = new LogProblem(request.logs, request.cells, offsets, request.instrument, request.firstS);
  return {
    problem,
    start: problem.before,
    fullEnds: request.fullEnds,
    noise: request.logs.map((log) => log.cells.map((cell) => voltageVariance(cell.voltageV))),
  };
}

/**
 * Fits cell parameters to measured charges: the logged current drives each cell's model, and the cell voltages are compared
 * row by row, so that charger and converter need no model. Constant errors of the channels are fitted too, held by their known
 * size, and so widen what they make uncertain. Nonlinear least squares (Levenberg–Marquardt), weights from noise
 * and resolution of each voltage column; where residuals are larger or correlated, the weights are lowered by the excess
 * variance and by the number of rows one independent row counts for, and the fit is repeated.
 *
 * A resistance that the logs do not determine (at a bound, without an interval, or with one that is as wide as itself) is held at the
 * study's within the uncertainty stated there, fixed where none is, and the fit is repeated: it has no interval of its own then.
 *
 * Where the residuals are larger than noise and curve allow, the model is not that of the log, and widening by the residuals does not
 * cover what a wrong model does to its parameters: no value has an interval then.
 */
export function fitChargeLog({ problem, start, noise, fullEnds }: PreparedLogs): LogFit {
  const held = new Set<LogParameter>();
  let widening = noise.map((cells) => cells.map(() => 1));
  let evaluations = 0;
  const run = (from: Float64Array | null = null) => {
    const variance = (l: number, k: number): number => noise[l][k] * widening[l][k];
    const weights = problem.weights(variance, held);
    const judging = problem.weights(variance, held, FROM_POINT_TO_POINT);
    const fit = solve(problem, weights, (p) => held.has(p) && problem.statedSpread(p) === null, from);
    evaluations += fit.evaluations;
    return { fit, weights, judging };
  };
  const widen = (values: Float64Array): boolean => {
    widening = noise.map((cells, l) => cells.map((variance, k) => excess(problem, values, l, k, variance)));
    return widening.some((cells) => cells.some((factor) => factor > 1.05));
  };
  let last = run();
  let beforeHolding: ReturnType<typeof run> | null = null;
  for (;;) {
    if (widen(valuesOf(last.fit))) last = run(valuesOf(last.fit));
    beforeHolding ??= last;
    const open = undetermined(problem, last.fit, held);
    if (open.length === 0) break;
    for (const parameter of open) held.add(parameter);
    last = run();
  }
  const { fit, weights } = last;
  const values = valuesOf(fit);
  const misfit = misfitOf(problem, values, noise);
  const explains =
    misfit <= LARGEST_MISFIT &&
    !problem.parameters.some((parameter, p) => problem.contradictsCurve(parameter, values[p]));
  const curveOf = (one: typeof last): CurveErrors => curveErrors(problem, one.fit, one.weights, one.judging);
  const curve = curveOf(last);
  const off = cellsWithOffChannel(problem, fit);
  return {
    estimates: estimatesOf(problem, fit, start, { held, explains, curve, fullEnds }),
    resistances: stepResistances(
      problem,
      beforeHolding.fit,
      beforeHolding === last ? curve : curveOf(beforeHolding),
      (cell) => (off.has(cell) ? 'voltage-channel-off' : explains ? null : 'does-not-explain-the-log'),
    ),
    curveShownV: curve.shownV,
    inseparable: inseparablePairs(problem, fit),
    before: summarise(problem, start),
    after: summarise(problem, values),
    misfit,
    explains,
    converged: fit.converged,
    evaluations,
    singleChanges: singleChanges(problem, weights, fit, held),
    values,
  };
}

/** A misfit above this is no longer noise: residuals are more than 1.5 times as large. */
const LARGEST_MISFIT = 2.25;
/** Parts of the study's own value. */
const FACTORS: readonly string[] = ['r0Factor', 'branchFactor'];
const RESISTANCES: readonly string[] = ['r0Factor', 'branchFactor', 'slowOhm', 'slowTauS'];
/** An interval that reaches from nothing to twice the value says nothing; nor does one as wide as what the study gave. */
const WIDEST_SHARE = 0.5;

/** Resistances that the fit leaves open and that are not held yet. */
function undetermined(problem: LogProblem, fit: FitResult, held: ReadonlySet<LogParameter>): LogParameter[] {
  return problem.parameters.filter((parameter, p) => {
    if (held.has(parameter) || !RESISTANCES.includes(parameter.quantity)) return false;
    const { value, standardError } = fit.parameters[p];
    const ofStudy = FACTORS.includes(parameter.quantity) ? 1 : Infinity;
    return standardError === null || standardError > WIDEST_SHARE * Math.min(Math.abs(value), ofStudy);
  });
}

/** Enough for the rank of a single change. */
const ROUGHLY = { ...OPTIONS, offsetTolerance: 1e-3, costTolerance: 1e-6, stepTolerance: 1e-6 } as const;

/** @param from where the search begins; parameters that are fixed stay as they are before the fit */
function solve(
  problem: LogProblem,
  weights: Float64Array,
  fixed: (p: LogParameter) => boolean,
  from: Float64Array | null = null,
  options: typeof OPTIONS | typeof ROUGHLY = OPTIONS,
): FitResult {
  const parameters = problem
    .fitParameters(fixed)
    .map((parameter, p) => (from === null || parameter.fixed ? parameter : { ...parameter, start: from[p] }));
  return fitLeastSquares(
    { model: problem.model, parameters, y: problem.y, weights },
    { ...options, covarianceScale: 'weights', engine: 'trust-region' },
  );
}

/** Rows in which the charger is off show the constant error of the current channel itself. */
function knownOffset(log: ChargeLog, instrument: InstrumentErrors): KnownOffset {
  const { currentA } = log;
  let largest = 0;
  for (const current of currentA) largest = Math.max(largest, Math.abs(current));
  const off = currentA.filter((current) => Math.abs(current) < 0.005 * largest);
  if (off.length < 10) return { valueA: 0, standardUncertaintyA: instrument.currentOffsetA };
  const mean = off.reduce((sum, value) => sum + value, 0) / off.length;
  const spread = Math.sqrt(off.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (off.length - 1));
  const resolution = columnResolution(currentA) / Math.sqrt(12);
  return {
    valueA: mean,
    standardUncertaintyA: Math.max(Math.hypot(spread / Math.sqrt(off.length), resolution), 1e-6),
  };
}

/**
 * Fits each parameter alone (with the channel errors) and ranks them by the sum of squares that it explains. Where a voltage channel must
 * be off by more than its stated uncertainty for that, its offset is the change: a start SOC that was read from the same channel moves
 * with it and is no cause of its own.
 */
function singleChanges(
  problem: LogProblem,
  weights: Float64Array,
  all: FitResult,
  held: ReadonlySet<LogParameter>,
): SingleChange[] {
  const none = solve(problem, weights, (p) => !isChannelError(p), null, ROUGHLY);
  const start = valuesOf(none);
  const from = none.residualSumOfSquares ?? 0;
  const to = all.residualSumOfSquares ?? from;
  if (!(from > to)) return [];
  const changes = problem.parameters.flatMap((parameter, p): SingleChange[] => {
    if (isChannelError(parameter) || held.has(parameter)) return [];
    const fixed = (other: LogParameter): boolean => other !== parameter && !isChannelError(other);
    const alone = solve(problem, weights, fixed, start, ROUGHLY);
    const explainedShare = (from - (alone.residualSumOfSquares ?? from)) / (from - to);
    const off = problem.parameters.findIndex((one, i) => problem.isOff(one, alone.parameters[i].value));
    // An offset that the fit of everything does without only makes up for what else is not free.
    if (off >= 0 && !problem.isOff(problem.parameters[off], all.parameters[off].value)) return [];
    const at = off < 0 ? p : off;
    return [{ ...problem.parameters[at], value: alone.parameters[at].value, explainedShare }];
  });
  return changes
    .sort((a, b) => b.explainedShare - a.explainedShare)
    .filter(
      ({ quantity, cell, log }, i, all) =>
        all.findIndex((one) => one.quantity === quantity && one.cell === cell && one.log === log) === i,
    );
}
