import type { ChargeLog } from '../../../fitting/charge-log/chargeLog.ts';
import {
  fitChargeLog,
  type LogFit,
  type PreparedLogs,
  prepareLogs,
} from '../../../fitting/charge-log/fitChargeLog.ts';
import type { CellQuantity, CellToFit, LogParameter } from '../../../fitting/charge-log/logParameters.ts';
import { fitSupply } from '../../../fitting/charge-log/supplyFit.ts';
import { generalCautions } from '../../contract/cautions.ts';
import {
  CHARGE_LOG_ALGORITHM,
  type ChargeLogQuantity,
  type ChargeLogResult,
} from '../../contract/chargeLogResult.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { type ComputedCharge, computeLikeLog } from './computeLikeLog.ts';
import { compareWithComputed, presentResiduals } from './logComparison.ts';
import { type LogConditions, logConditions } from './logConditions.ts';
import { verdictOf } from './logVerdict.ts';

/** A log with what its reader says of it. */
export interface LogToEvaluate {
  readonly log: ChargeLog;
  readonly columns: ChargeLogResult['columns'];
  readonly unused: readonly string[];
  readonly warnings: readonly string[];
  /** Line of each row in the file. */
  readonly lines: readonly number[];
}

/** What is asked of a log. */
export interface ChargeLogRequest {
  /** Empty: compare only. */
  readonly fit: readonly ChargeLogQuantity[];
  /** Standard uncertainties of the constant errors of a voltage and of the current channel. */
  readonly voltageOffsetV?: number;
  readonly currentOffsetA?: number;
  /** Standard uncertainty of the open-circuit curve from SOC to SOC; 0: the curve is taken as it is. */
  readonly ocvUncertaintyV?: number;
  /** Rows before this time take no part in residuals and fit. */
  readonly fromS?: number;
}

/** Common practice for a bench meter, no source. */
const USUAL_VOLTAGE_OFFSET_V = 0.001;
const USUAL_CURRENT_OFFSET_SHARE = 0.002;
/** Spacing of the corrections of the open-circuit curve in SOC. */
const KNOT_SPACING = 0.05;
/** A misfit above this is no longer noise: residuals are more than 1.5 times as large. */
const LARGEST_MISFIT = 2.25;
const SERIES_ROWS = 400;
const QUANTITIES: Record<ChargeLogQuantity, readonly CellQuantity[]> = {
  capacity: ['capacityAh'],
  'start-soc': ['startSoc'],
  r0: ['r0Factor'],
  branches: ['branchFactor'],
  'slow-branch': ['slowOhm', 'slowTauS'],
};

/**
 * Sets a measured charge beside the computed one and, where asked, fits the cells' parameters to it. Pure.
 *
 * @throws Refusal `not-evaluable` where log and study do not belong together or the log cannot be used.
 */
export function evaluateChargeLog(
  read: LogToEvaluate,
  description: ChargeStudyDescription,
  request: ChargeLogRequest,
): ChargeLogResult {
  const { log } = read;
  checkCells(log, description, request);
  const conditions = logConditions(log);
  const instrument = {
    voltageOffsetV: request.voltageOffsetV ?? USUAL_VOLTAGE_OFFSET_V,
    currentOffsetA: request.currentOffsetA ?? USUAL_CURRENT_OFFSET_SHARE * Math.max(...log.currentA),
  };
  const computed = computeLikeLog(log, conditions, description);
  const cells = computed.setup.cells.map(
    (charged, k): CellToFit => ({
      cell: charged.cell,
      startSoc: [computed.startSocs[k].soc],
      free: request.fit.flatMap((quantity) => QUANTITIES[quantity]),
      slow: request.fit.includes('slow-branch') ? slowStart(description, k) : null,
      knots: knotsOf(request.ocvUncertaintyV ?? 0),
    }),
  );
  const prepared = preparedFor(read, { logs: [log], cells, instrument, firstS: request.fromS ?? 0 });
  const fit = request.fit.length === 0 ? null : fitChargeLog(prepared);
  const names = description.cells.map((cell) => cell.name);
  const ratio = description.converter?.ratioStage?.ratio ?? null;
  const comparison = compareWithComputed(log, conditions, computed, prepared, names);
  const fitted = fit === null ? null : presentFit(fit, names);
  const result: Omit<ChargeLogResult, 'comparison'> & {
    comparison: Omit<ChargeLogResult['comparison'], 'verdict'>;
  } = {
    schemaVersion: 1,
    algorithm: CHARGE_LOG_ALGORITHM,
    columns: read.columns,
    unusedColumns: [...read.unused],
    warnings: [...read.warnings, ...computed.warnings],
    conditions: presentConditions(log, conditions, computed, names),
    comparison,
    fit: fitted,
    supply: fitSupply(log, ratio, instrument),
    series: seriesOf(log, prepared, fit, names),
    cautions: [...generalCautions],
  };
  return { ...result, comparison: { verdict: verdictOf(result), ...comparison } };
}

function checkCells(log: ChargeLog, description: ChargeStudyDescription, request: ChargeLogRequest): void {
  if (log.cells.length !== description.cells.length)
    throw new Refusal('not-evaluable', 'The log and the study do not have the same cells.', [
      fieldError(
        'cells',
        log.cells.length,
        'voltages in the log',
        `${description.cells.length}, as many as the study has cells`,
      ),
    ]);
  const wanted: ChargeLogQuantity = 'branches';
  const without = description.cells.find((cell) => cell.branches.length === 0);
  if (request.fit.includes(wanted) && without !== undefined)
    throw new Refusal('not-evaluable', 'The branches cannot be fitted.', [
      fieldError(
        'fit',
        wanted,
        `${without.name} has no RC branch in the study`,
        'slow-branch, or a cell with branches',
      ),
    ]);
}

/** Row numbers of the log become lines of the file. */
function preparedFor(read: LogToEvaluate, request: Parameters<typeof prepareLogs>[0]): PreparedLogs {
  try {
    return prepareLogs(request);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    const row = /\(row (\d+),/.exec(error.message);
    const line = row === null ? '' : ` (line ${read.lines[Number(row[1])]} of the file)`;
    throw new Refusal('not-evaluable', `The log cannot be used: ${error.message}${line}.`);
  }
}

function slowStart(description: ChargeStudyDescription, k: number): { ohm: number; tauS: number } {
  const { r0Ohm } = description.cells[k];
  const first = Array.isArray(r0Ohm) ? [r0Ohm].flat(2)[0] : r0Ohm;
  return { ohm: 0.5 * first, tauS: 600 };
}

function knotsOf(uncertaintyV: number): CellToFit['knots'] {
  if (!(uncertaintyV > 0)) return null;
  const soc = Array.from({ length: Math.round(1.1 / KNOT_SPACING) + 1 }, (_, i) => -0.05 + KNOT_SPACING * i);
  return { soc, standardUncertaintyV: soc.map(() => uncertaintyV) };
}

function presentConditions(
  log: ChargeLog,
  conditions: LogConditions,
  computed: ComputedCharge,
  names: readonly string[],
): ChargeLogResult['conditions'] {
  return {
    rows: log.timeS.length,
    durationS: log.timeS[conditions.lastRow] - log.timeS[conditions.firstRow],
    currentA: Math.max(...conditions.stages.map((stage) => stage.currentA)),
    cellVoltageLimitV: conditions.taper === null ? null : computed.setup.cells[0].voltageLimitV,
    endCurrentA: conditions.endCurrentA,
    ambientTemperatureC: log.ambientTemperatureC,
    cells: names.map((name, k) => ({
      name,
      startVoltageV: conditions.startVoltagesV[k],
      startSoc: computed.startSocs[k].soc,
      startSocFrom: computed.startSocs[k].from,
    })),
  };
}

function presentFit(fit: LogFit, names: readonly string[]): ChargeLogResult['fit'] {
  const place = ({ quantity, cell }: LogParameter) => ({
    quantity,
    cell: cell === null ? null : names[cell],
  });
  return {
    converged: fit.converged,
    estimates: fit.estimates.map((estimate) => ({
      ...place(estimate),
      before: estimate.before,
      value: estimate.value,
      standardError: estimate.standardError,
      low: estimate.low,
      high: estimate.high,
      reason: estimate.reason,
    })),
    inseparable: fit.inseparable.map(({ a, b, correlation }) => ({ a: place(a), b: place(b), correlation })),
    before: fit.before.map((summary) => presentResiduals(summary, names)),
    after: fit.after.map((summary) => presentResiduals(summary, names)),
    misfit: fit.misfit,
    verdict: fit.misfit <= LARGEST_MISFIT ? 'explains-the-log' : 'does-not-explain-the-log',
    singleChanges: fit.singleChanges.map((change) => ({
      ...place(change),
      value: change.value,
      explainedShare: change.explainedShare,
    })),
  };
}

function seriesOf(
  log: ChargeLog,
  { problem, start }: PreparedLogs,
  fit: LogFit | null,
  names: readonly string[],
): ChargeLogResult['series'] {
  const { timeS, currentA, voltageV } = problem.logs[0];
  const stride = Math.max(1, Math.ceil(timeS.length / SERIES_ROWS));
  const thin = (values: Float64Array): number[] => [...values].filter((_, row) => row % stride === 0);
  return {
    timeS: thin(timeS),
    currentA: thin(currentA),
    cells: log.cells.map((_, k) => ({
      name: names[k],
      measuredV: thin(voltageV[k]),
      computedV: thin(problem.voltages(start, 0, k)),
      fittedV: fit === null ? null : thin(problem.voltages(fit.values, 0, k)),
    })),
  };
}
