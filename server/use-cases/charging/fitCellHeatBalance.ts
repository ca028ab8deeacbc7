import { findRuns } from '../../../fitting/capacity/index.ts';
import type { CompiledCell } from '../../../fitting/charging/index.ts';
import { fitHeatBalance, heatOfRecord, type RecordHeat, socAtOcv } from '../../../fitting/charging/index.ts';
import { cumulativeChargeAh, findRecordIssue, type RecordColumns } from '../../../fitting/records/index.ts';
import { chargeSetupOf } from '../../assess/charging/chargeSetupOf.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import { chargeStudyDescription } from '../../contract/chargeStudy.ts';
import type {
  CellHeatBalance,
  FitHeatBalanceRequest,
  HeatBalanceResult,
} from '../../contract/heatBalance.ts';
import type { Test } from '../../contract/tests.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { studyModel } from '../../export/circuitModel.ts';
import { ExportRefused } from '../../export/refusal.ts';
import { insertAudit } from '../../store/audit.ts';
import { insertFit } from '../../store/fits.ts';
import { findRecord, readRecord } from '../../store/records.ts';
import { findTest } from '../../store/tests.ts';
import { readParameters } from '../parameters/readParameters.ts';
import { fitsOf } from './chargeStudySubject.ts';
import { readCellHeatBalance } from './readHeatBalance.ts';

/** A change of any number that the fit gives is a new version. */
const HEAT_BALANCE_VERSION = '1.0.0';
/** Share of the charge moved on the wrong side of the OCV, and distance beyond 0…1 in SOC, from which there is a warning. */
const WRONG_SIDE_SHARE = 0.05;
const SOC_MARGIN = 0.02;
/** Share of the temperature change that the model may leave unexplained before there is a warning. */
const POOR_FIT_SHARE = 0.05;

/** A charge of a record: its rows with the rests around it, and the last row before its current. */
interface Charge {
  readonly start: number;
  readonly end: number;
  readonly rowBefore: number | null;
}

/**
 * Fits heat capacity and heat transfer from the largest charge of a test's record with temperature, with the heat from the
 * measured voltage and the cell's fitted OCV and capacity, and keeps the result as a fit of the cell. The cell type stays as it
 * is; the answer holds what takes the values over.
 *
 * @throws Refusal `not-found`, and `not-evaluable` naming what is missing: record, temperature, charge, parameters, start SOC
 */
export async function fitCellHeatBalance(
  context: Context,
  testId: number,
  asked: FitHeatBalanceRequest,
): Promise<CellHeatBalance> {
  const { store } = context;
  const test = await findTest(store, testId);
  if (test === null) throw notFound('test', testId);
  const record = await recordOf(context, testId);
  const { cell, fitIds } = await fittedCell(context, test.cellId);
  const charge = largestCharge(record);
  const known = knownSoc(cell, record, charge, test, asked);
  const ambient = ambientOf(record, charge, test, asked);
  const heat = heatOfRecord(cell, record, charge, known, ambient.temperatureC);
  const fit = fitOf(heat, testId);
  const result: HeatBalanceResult = {
    schemaVersion: 1,
    algorithm: { name: 'heat-balance', version: HEAT_BALANCE_VERSION },
    testId,
    heatCapacityJPerK: fit.heatCapacityJPerK,
    heatCapacityStandardErrorJPerK: fit.heatCapacityStandardError,
    heatTransferWPerK: fit.heatTransferWPerK,
    heatTransferStandardErrorWPerK: fit.heatTransferStandardError,
    residualSdK: fit.residualSdK,
    reason: fit.reason,
    firstRow: charge.start,
    lastRow: charge.end - 1,
    temperatureSpanK: spanOf(heat.temperatureC),
    startSoc: known.startSoc,
    startSocBasis: known.basis,
    ambientTemperatureC: ambient.temperatureC,
    ambientBasis: ambient.basis,
    parameterFitIds: fitIds,
    warnings: warningsOf(heat, cell, ambient.basis, fit.residualSdK),
  };
  await keep(context, test, asked, result);
  const kept = await readCellHeatBalance(context, test.cellId);
  if (kept === null) throw new Error(`The heat balance of cell ${test.cellId} was not kept.`);
  return kept;
}

function notEvaluable(testId: number, why: string, field: string, expected: string): Refusal {
  return new Refusal('not-evaluable', `No heat balance from test ${testId}: ${why}.`, [
    fieldError(field, undefined, why, expected),
  ]);
}

async function recordOf(context: Context, testId: number): Promise<RecordColumns> {
  const stored = await findRecord(context.store, testId);
  if (stored === null || stored.state === 'open')
    throw notEvaluable(testId, 'it has no finished record', 'record', 'an imported or closed record');
  const record = await readRecord(context.store, stored);
  const issue = findRecordIssue(record);
  if (issue !== null)
    throw notEvaluable(
      testId,
      `${issue.column} is unfit at row ${issue.index} (${issue.code})`,
      issue.column,
      'finite, in order',
    );
  if (record.temperatureC === undefined)
    throw notEvaluable(
      testId,
      'its record has no complete column of the temperature',
      'temperature',
      'the cell temperature in °C',
    );
  return record;
}

async function fittedCell(
  context: Context,
  cellId: number,
): Promise<{ cell: CompiledCell; fitIds: number[] }> {
  const { cells, cellType } = await readParameters(context, 'cell', cellId);
  try {
    const model = studyModel(cells[0], cellType);
    const description = chargeStudyDescription.parse({
      schemaVersion: 1,
      cells: [model.cell],
      stack: { ambientTemperatureC: 25 },
      phases: { stages: [{ rateC: 1 }] },
    });
    const subject = { name: cells[0].serial, stackId: null, cells: [{ cell: cells[0], cellType }] };
    return { cell: chargeSetupOf(description).setup.cells[0].cell, fitIds: fitsOf(subject) };
  } catch (error) {
    if (!(error instanceof ExportRefused)) throw error;
    throw new Refusal('not-evaluable', `The heat cannot be computed: ${error.message}.`, [
      fieldError(error.field, error.value ?? undefined, 'is needed for the heat', error.expected),
    ]);
  }
}

function largestCharge(record: RecordColumns): Charge {
  const moved = cumulativeChargeAh(record);
  const charges = findRuns(record).filter((run) => run.direction === 'charge');
  const size = (run: (typeof charges)[number]) => moved[run.lastLoadedRow] - moved[run.firstLoadedRow];
  const largest = charges.reduce<(typeof charges)[number] | null>(
    (best, run) => (best === null || size(run) > size(best) ? run : best),
    null,
  );
  if (largest === null)
    throw new Refusal('not-evaluable', 'The record holds no charge.', [
      fieldError(
        'current',
        undefined,
        'never charges the cell',
        'a charge at a steady rate, with a rest after it',
      ),
    ]);
  const { start, end, firstLoadedRow } = largest;
  return { start, end, rowBefore: firstLoadedRow > start ? firstLoadedRow - 1 : null };
}

function knownSoc(
  cell: CompiledCell,
  record: RecordColumns,
  charge: Charge,
  test: Test,
  asked: FitHeatBalanceRequest,
): { row: number; soc: number; startSoc: number; basis: HeatBalanceResult['startSocBasis'] } {
  const given = asked.startSoc ?? test.startSoc;
  if (given !== null)
    return { row: 0, soc: given, startSoc: given, basis: asked.startSoc === undefined ? 'test' : 'asked' };
  const row = charge.rowBefore;
  const soc =
    row === null ? null : socAtOcv(cell, record.voltageV[row], record.temperatureC?.[row] ?? Number.NaN);
  if (row === null || soc === null)
    throw notEvaluable(
      test.id,
      row === null
        ? 'no rest before the charge tells its start SOC'
        : 'the rest before the charge lies outside the OCV',
      'startSoc',
      'the SOC at the first row of the record, 0…1',
    );
  const moved = cumulativeChargeAh(record);
  return { row, soc, startSoc: soc - moved[row] / cell.model.capacityAh, basis: 'rest-voltage' };
}

function ambientOf(
  record: RecordColumns,
  charge: Charge,
  test: Test,
  asked: FitHeatBalanceRequest,
): { temperatureC: number; basis: HeatBalanceResult['ambientBasis'] } {
  if (asked.ambientTemperatureC !== undefined)
    return { temperatureC: asked.ambientTemperatureC, basis: 'asked' };
  if (test.temperatureC !== null) return { temperatureC: test.temperatureC, basis: 'test' };
  // A charge often begins while the cell is still warm from a discharge, and ends with a taper in which it cools.
  const [first, last] = [charge.start, charge.end - 1].map((row) => record.temperatureC?.[row] ?? Number.NaN);
  return { temperatureC: Math.min(first, last), basis: 'cooler-end' };
}

function fitOf(heat: RecordHeat, testId: number): ReturnType<typeof fitHeatBalance> {
  try {
    return fitHeatBalance(heat);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw notEvaluable(testId, error.message, 'record', 'ten samples or more of a charge');
  }
}

function spanOf(values: Float64Array): number {
  return values.reduce((most, v) => Math.max(most, v)) - values.reduce((least, v) => Math.min(least, v));
}

function warningsOf(
  heat: RecordHeat,
  cell: CompiledCell,
  ambient: HeatBalanceResult['ambientBasis'],
  residualSdK: number | null,
): HeatBalanceResult['warnings'] {
  const warnings: HeatBalanceResult['warnings'] = ['standard-errors-lower-bound'];
  if (cell.model.entropicVPerK === null) warnings.push('reversible-heat-left-out');
  if (ambient === 'cooler-end') warnings.push('ambient-assumed');
  if (heat.lowestSoc < -SOC_MARGIN || heat.highestSoc > 1 + SOC_MARGIN) warnings.push('soc-outside-range');
  if (heat.wrongSideShare > WRONG_SIDE_SHARE) warnings.push('voltage-against-ocv');
  if (residualSdK !== null && residualSdK > POOR_FIT_SHARE * spanOf(heat.temperatureC))
    warnings.push('poor-fit');
  return warnings;
}

/** Kept under the cell and not under the test, whose own evaluation it must not stand beside. */
async function keep(
  context: Context,
  test: Test,
  asked: FitHeatBalanceRequest,
  result: HeatBalanceResult,
): Promise<void> {
  const createdAt = nowText(context);
  await inTransaction(context, async (context) => {
    const fitId = await insertFit(context.store, {
      kind: 'heat-balance',
      cellId: test.cellId,
      algorithm: result.algorithm.name,
      algorithmVersion: result.algorithm.version,
      settings: asked,
      inputs: { testId: test.id, fitIds: result.parameterFitIds },
      result,
      createdAt,
      createdBy: context.actor.name,
    });
    await insertAudit(context.store, {
      at: createdAt,
      actor: context.actor.name,
      action: 'test.evaluated',
      subjectKind: 'test',
      subjectId: test.id,
      detail: { kind: 'heat-balance', fit: fitId, version: HEAT_BALANCE_VERSION },
    });
  });
}
