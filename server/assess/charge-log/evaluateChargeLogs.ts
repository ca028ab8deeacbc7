import type { ChargeLog } from '../../../fitting/charge-log/index.ts';
import {
  type FullEnd,
  fitChargeLog,
  fitSupply,
  type PreparedLogs,
  prepareLogs,
} from '../../../fitting/charge-log/index.ts';
import { generalCautions } from '../../contract/cautions.ts';
import {
  CHARGE_LOG_ALGORITHM,
  type ChargeLogQuantity,
  type ChargeLogResult,
  type OneLogResult,
} from '../../contract/chargeLogResult.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { cellsToFit } from './cellsToFit.ts';
import { type ComputedCharge, computeLikeLog } from './computeLikeLog.ts';
import { countedCapacity, endsFull } from './countedCapacity.ts';
import { fittedStudy } from './fittedStudy.ts';
import { heatOfLogs, withHeat, withoutIntervals } from './heatOfLogs.ts';
import { compareWithComputed } from './logComparison.ts';
import { type LogConditions, logConditions } from './logConditions.ts';
import { seriesOf } from './logSeries.ts';
import { type LogSupply, logSupply } from './logSupply.ts';
import { fitSentences, logSentences } from './logVerdict.ts';
import { presentLogFit } from './presentLogFit.ts';

/** A log with what its reader says of it. */
export interface LogToEvaluate {
  readonly log: ChargeLog;
  readonly columns: ChargeLogResult['columns'];
  readonly unused: readonly string[];
  readonly warnings: readonly string[];
  /** Line of each row in the file; null where the file is not at hand. */
  readonly lines: readonly number[] | null;
}

/** What is asked of logs. */
export interface ChargeLogRequest {
  /** Empty: compare only. */
  readonly fit: readonly ChargeLogQuantity[];
  /** Standard uncertainties of the constant errors of a voltage and of the current channel. */
  readonly voltageOffsetV?: number;
  readonly currentOffsetA?: number;
  /** Standard uncertainty of the current channel's gain, relative. */
  readonly currentGain?: number;
  /** Standard uncertainty of the open-circuit curve from SOC to SOC; 0: the curve is exact; absent: what the study states. */
  readonly ocvUncertaintyV?: number;
  /** Whether the stack was discharged to its cut-off just before each log. */
  readonly startsEmpty?: boolean;
  /** Rows before this time of each log take no part in residuals and fit. */
  readonly fromS?: number;
}

/** Constant error of a voltage channel; common practice for a bench meter, no source. */
export const USUAL_VOLTAGE_OFFSET_V = 0.001;
/** Constant error of a current channel as a share of the largest current; as above. */
export const USUAL_CURRENT_OFFSET_SHARE = 0.002;
const USUAL_CURRENT_GAIN = 0.001;
/** A study's curve is on the scale of this full where its own charge ends this close to 100 %. */
const STUDY_FULL_WITHIN = 0.02;
/** A log with its conditions and its computed charge. */
export interface ComparedLog {
  readonly read: LogToEvaluate;
  readonly conditions: LogConditions;
  readonly computed: ComputedCharge;
  readonly supply: LogSupply;
}

/**
 * Sets measured charges of one stack beside the computed ones and, where asked, fits the cells' parameters to all of them together.
 * Pure.
 *
 * @param tell receives the share done; may throw to stop
 * @throws Refusal `not-evaluable` where logs and study do not belong together or a log cannot be used.
 */
export function evaluateChargeLogs(
  reads: readonly LogToEvaluate[],
  description: ChargeStudyDescription,
  request: ChargeLogRequest,
  tell: (share: number) => void = () => {},
): ChargeLogResult {
  for (const { log } of reads) checkCells(log, description, request);
  const largestA = Math.max(...reads.map(({ log }) => largest(log.currentA)));
  const instrument = {
    voltageOffsetV: request.voltageOffsetV ?? USUAL_VOLTAGE_OFFSET_V,
    currentOffsetA: request.currentOffsetA ?? USUAL_CURRENT_OFFSET_SHARE * largestA,
    currentGain: request.currentGain ?? USUAL_CURRENT_GAIN,
  };
  const logs = reads.map((read): ComparedLog => {
    const conditions = logConditions(read.log);
    return {
      read,
      conditions,
      computed: computeLikeLog(read.log, conditions, description),
      supply: logSupply(description, largestA),
    };
  });
  tell(0.1);
  const cells = cellsToFit(logs, description, request);
  const prepared = preparedFor(reads, {
    logs: reads.map(({ log }) => log),
    cells,
    instrument,
    firstS: request.fromS ?? 0,
    fullEnds: logs.map(({ conditions, computed }) => fullEndOf(conditions, computed, description)),
  });
  tell(0.2);
  const fit = request.fit.length === 0 ? null : fitChargeLog(prepared);
  tell(0.95);
  const names = description.cells.map((cell) => cell.name);
  const ratio = description.converter?.ratioStage?.ratio ?? null;
  const single = logs.map((each, place): OneLogResult => {
    const { log, columns, unused, warnings } = each.read;
    const comparison = compareWithComputed({ ...each, log, place, names }, prepared);
    return {
      columns,
      unusedColumns: [...unused],
      warnings: [...warnings, ...each.computed.warnings],
      conditions: presentConditions(log, each.conditions, each.computed, names),
      comparison: { verdict: logSentences(comparison), ...comparison },
      supply: fitSupply(log, ratio, instrument),
      countedCapacity: countedCapacity(
        log,
        each.conditions,
        description,
        instrument,
        request.startsEmpty ?? false,
      ),
      series: seriesOf(
        { log, place, cells: cells.map(({ cell }) => cell), names, supply: each.supply },
        prepared,
        fit,
      ),
    };
  });
  if (fit === null) return withFit(single, null);
  const presented = presentLogFit(
    fit,
    names,
    cells.map(({ curveSpreadV }) => curveSpreadV),
    fittedStudy(description, cells, prepared, fit),
  );
  if (!request.fit.includes('heat')) return withFit(single, presented);
  const heat = heatOfLogs({
    ...{ reads, description, cells, prepared, values: fit.values },
    voltageOffsetV: instrument.voltageOffsetV,
  });
  return withFit(single, withHeat(presented, fit.explains ? heat : withoutIntervals(heat)));
}

/** The cell that a log leaves full, where the study's own charge under the same limits ends full too. */
function fullEndOf(
  conditions: LogConditions,
  { charge }: ComputedCharge,
  description: ChargeStudyDescription,
): FullEnd | null {
  if (!endsFull(conditions, description) || charge.endReason !== 'end-current') return null;
  const cell = conditions.taper?.cell ?? 0;
  const soc = charge.cells[cell].endSoc;
  return Math.abs(soc - 1) <= STUDY_FULL_WITHIN ? { cell, soc } : null;
}

function withFit(single: readonly OneLogResult[], fitted: ChargeLogResult['fit']): ChargeLogResult {
  const [first, ...furtherLogs] = single;
  const sentences = fitted === null ? [] : fitSentences(fitted, single.length);
  return {
    schemaVersion: 1,
    algorithm: CHARGE_LOG_ALGORITHM,
    ...first,
    comparison: { ...first.comparison, verdict: [...first.comparison.verdict, ...sentences] },
    furtherLogs,
    fit: fitted,
    cautions: [...generalCautions],
  };
}

const largest = (values: Float64Array): number => values.reduce((most, value) => Math.max(most, value), 0);

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

/** Row numbers of a log become lines of its file. */
function preparedFor(
  reads: readonly LogToEvaluate[],
  request: Parameters<typeof prepareLogs>[0],
): PreparedLogs {
  try {
    return prepareLogs(request);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    const place = /logs\[(\d+)\].*\(row (\d+),/.exec(error.message);
    const lines = place === null ? null : reads[Number(place[1])].lines;
    const line = lines === null || place === null ? '' : ` (line ${lines[Number(place[2])]} of the file)`;
    throw new Refusal('not-evaluable', `The log cannot be used: ${error.message}${line}.`);
  }
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
