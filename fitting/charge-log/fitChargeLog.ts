import { checkResiduals } from '../circuit/index.ts';
import type { FitResult } from '../least-squares/index.ts';
import { fitLeastSquares } from '../least-squares/index.ts';
import { secondDifferenceNoise } from '../numeric/index.ts';
import { columnResolution } from '../records/index.ts';
import { type ChargeLog, findLogIssue, type InstrumentErrors } from './chargeLog.ts';
import { curveErrorVariance } from './curveErrors.ts';
import type { CellToFit, KnownOffset, LogParameter } from './logParameters.ts';
import { LogProblem } from './logProblem.ts';

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

/** Residuals of one cell in one log: measured minus computed voltage at the rows that take part. */
export interface ResidualSummary {
  readonly log: number;
  readonly cell: number;
  readonly rows: number;
  readonly biasV: number;
  readonly rmsV: number;
  readonly largestV: number;
  readonly largestTimeS: number;
}

export interface LogFit {
  readonly estimates: readonly LogEstimate[];
  /** Pairs that the logs hardly tell apart: |correlation| of the estimates above 0.98. */
  readonly inseparable: readonly {
    readonly a: LogParameter;
    readonly b: LogParameter;
    readonly correlation: number;
  }[];
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

/** 97.5 % quantile of the normal distribution. */
const NORMAL_95 = 1.959963984540054;
const INSEPARABLE = 0.98;
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
  const run = (): { fit: FitResult; weights: Float64Array } => {
    const weights = problem.weights((l, k) => noise[l][k] * widening[l][k], held);
    const fit = solve(problem, weights, (p) => held.has(p) && problem.statedSpread(p) === null);
    evaluations += fit.evaluations;
    return { fit, weights };
  };
  const widen = (values: Float64Array): boolean => {
    widening = noise.map((cells, l) => cells.map((variance, k) => excess(problem, values, l, k, variance)));
    return widening.some((cells) => cells.some((factor) => factor > 1.05));
  };
  let last = run();
  for (;;) {
    if (widen(valuesOf(last.fit))) last = run();
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
  const curveV2 = curveErrorVariance(problem, fit, weights);
  return {
    estimates: estimatesOf(problem, fit, start, { held, explains, curveV2, fullEnds }),
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
const RESISTANCES: readonly string[] = ['r0Factor', 'branchFactor', 'slowOhm', 'slowTauS'];
/** An interval that reaches from nothing to twice the value says nothing. */
const WIDEST_SHARE = 0.5;

/** Resistances that the fit leaves open and that are not held yet. */
function undetermined(problem: LogProblem, fit: FitResult, held: ReadonlySet<LogParameter>): LogParameter[] {
  return problem.parameters.filter((parameter, p) => {
    if (held.has(parameter) || !RESISTANCES.includes(parameter.quantity)) return false;
    const { value, standardError } = fit.parameters[p];
    return standardError === null || standardError > WIDEST_SHARE * Math.abs(value);
  });
}

/** Mean square of the residuals over the variance of noise, resolution and curve; a mean of rows has the noise of as many. */
function misfitOf(problem: LogProblem, values: Float64Array, noise: PreparedLogs['noise']): number {
  let [sum, count] = [0, 0];
  problem.logs.forEach(({ rows, settled, voltageV }, l) => {
    voltageV.forEach((_, k) => {
      residualsOf(problem, values, l, k).forEach((residual, i) => {
        sum += residual ** 2 / (noise[l][k] / rows[settled[i]] + problem.remainderV2(k));
        count += 1;
      });
    });
  });
  return sum / count;
}

const CHANNEL_ERRORS: readonly string[] = ['voltageOffsetV', 'currentOffsetA', 'edgeFraction', 'ocvKnotV'];
/** Parameters that are known beforehand within an uncertainty and are not what is asked. */
const isChannelError = ({ quantity }: LogParameter): boolean => CHANNEL_ERRORS.includes(quantity);

function solve(
  problem: LogProblem,
  weights: Float64Array,
  fixed: (p: LogParameter) => boolean,
  engine: 'auto' | 'trust-region' = 'auto',
): FitResult {
  const parameters = problem.fitParameters(fixed);
  return fitLeastSquares(
    { model: problem.model, parameters, y: problem.y, weights },
    { ...OPTIONS, covarianceScale: 'weights', engine },
  );
}

const valuesOf = (fit: FitResult): Float64Array => Float64Array.from(fit.parameters, ({ value }) => value);

/** Variance of noise and quantisation of a voltage column, at least that of a channel of 20 µV. */
function voltageVariance(voltageV: Float64Array): number {
  const noise = secondDifferenceNoise(voltageV, () => true);
  return Math.max(noise ** 2, columnResolution(voltageV) ** 2 / 12, 4e-10);
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

/** By how much the variance of a cell's points must be widened: excess over noise × rows per independent row. */
function excess(
  problem: LogProblem,
  values: Float64Array,
  log: number,
  cell: number,
  variance: number,
): number {
  const residuals = residualsOf(problem, values, log, cell);
  const { rows, settled } = problem.logs[log];
  const meanSquare = residuals.reduce((sum, r, i) => sum + r * r * rows[settled[i]], 0) / residuals.length;
  const { rowsPerIndependent } = checkResiduals(residuals);
  return Math.max(1, meanSquare / variance) * rowsPerIndependent;
}

/** Measured minus computed voltage of one cell at the rows that take part. */
export function residualsOf(
  problem: LogProblem,
  values: ArrayLike<number>,
  log: number,
  cell: number,
): Float64Array {
  const voltages = problem.voltages(values, log, cell);
  const { start } = problem.range(log, cell);
  return Float64Array.from(problem.logs[log].settled, (row, i) => problem.y[start + i] - voltages[row]);
}

/** Residuals by log and cell. */
export function summarise(problem: LogProblem, values: ArrayLike<number>): ResidualSummary[] {
  return problem.logs.flatMap((log, l) =>
    log.voltageV.map((_, k) => {
      const residuals = residualsOf(problem, values, l, k);
      let [sum, square, largest, at] = [0, 0, 0, 0];
      residuals.forEach((r, i) => {
        sum += r;
        square += r * r;
        if (Math.abs(r) > Math.abs(largest)) [largest, at] = [r, i];
      });
      return {
        log: l,
        cell: k,
        rows: residuals.length,
        biasV: sum / residuals.length,
        rmsV: Math.sqrt(square / residuals.length),
        largestV: largest,
        largestTimeS: log.timeS[log.settled[at]],
      };
    }),
  );
}

/** What decides on the intervals beside the covariance. */
interface OpenAfterFit {
  readonly held: ReadonlySet<LogParameter>;
  readonly explains: boolean;
  /** Variance by an error of the curves, by parameter. */
  readonly curveV2: Float64Array;
  readonly fullEnds: LogFitRequest['fullEnds'];
}

function estimatesOf(
  problem: LogProblem,
  fit: FitResult,
  start: Float64Array,
  { held, explains, curveV2, fullEnds }: OpenAfterFit,
): LogEstimate[] {
  // Whether such a channel has an offset or a gain error, the log does not tell; a gain error moves the other values of the cell.
  const offCells = new Set(
    problem.parameters.flatMap((parameter, p) =>
      problem.isOff(parameter, fit.parameters[p].value) ? [parameter.cell] : [],
    ),
  );
  const offScale = cellsOffScale(problem, fit, fullEnds);
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
        : Math.hypot(own.standardError, Math.sqrt(curveV2[p]), problem.scaleError(parameter, value));
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
  fullEnds: LogFitRequest['fullEnds'],
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

function inseparablePairs(problem: LogProblem, fit: FitResult): LogFit['inseparable'] {
  const pairs: LogFit['inseparable'][number][] = [];
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
  const none = solve(problem, weights, (p) => !isChannelError(p), 'trust-region');
  const from = none.residualSumOfSquares ?? 0;
  const to = all.residualSumOfSquares ?? from;
  if (!(from > to)) return [];
  const changes = problem.parameters.flatMap((parameter, p): SingleChange[] => {
    if (isChannelError(parameter) || held.has(parameter)) return [];
    const fixed = (other: LogParameter): boolean => other !== parameter && !isChannelError(other);
    const alone = solve(problem, weights, fixed, 'trust-region');
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
