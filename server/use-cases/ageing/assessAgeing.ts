import {
  type CellSeries,
  type MeasuredCell,
  resistanceCondition,
  seriesOf,
} from '../../assess/ageing/ageingSeries.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type {
  AgeingCondition,
  AgeingSettingsInput,
  StoredLotAgeing,
} from '../../contract/ageingAssessment.ts';
import type { AgeingCell, AgeingResult } from '../../contract/ageingResult.ts';
import type { AgeingQuantityName } from '../../contract/ageingTrack.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import type { Lot } from '../../contract/lots.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { insertAudit } from '../../store/audit.ts';
import { listCells } from '../../store/cells.ts';
import { insertFit, listCellFits } from '../../store/fits.ts';
import {
  insertMeasurements,
  listCellMeasurements,
  type NewMeasurement,
  supersedeFitted,
} from '../../store/measurements.ts';
import { listLotStacks } from '../../store/stacks.ts';
import type { Store } from '../../store/store.ts';
import type { Crew } from '../../threads/crew.ts';
import { ageingMeasurements, rateQuantities } from './ageingMeasurements.ts';
import { readAgeingRequest } from './ageingRequest.ts';
import { evaluateAgeingInThreads } from './evaluateAgeingInThreads.ts';

/** What an assessment of a lot left in the store. */
export interface AssessedLot {
  readonly fitId: number;
  readonly cells: number;
  readonly without: number;
}

/**
 * Assesses the ageing of a lot from its valid measurements (cycle tables and evaluated tests alike) and stores one fit for
 * each cell and one for the lot, with their measurements, in one transaction. Earlier assessments of the same quantity are
 * superseded; those of the other one stand beside them.
 *
 * @throws Refusal `not-found`, `invalid-request` for an end of life that cannot be read, `not-evaluable` where no cell has
 * a value with an age
 */
export async function assessAgeing(
  context: Context,
  lotId: number,
  settings: AgeingSettingsInput,
  onProgress: (done: number, of: number) => void = () => {},
  crew: Crew | null = null,
): Promise<AssessedLot> {
  const { store } = context;
  const { lot, cellType, limits } = await readAgeingRequest(context, lotId, settings);
  const measured: MeasuredCell[] = await inOrder(await listCells(store, lotId), async (cell) => ({
    cell,
    measurements: await listCellMeasurements(store, cell.id),
  }));
  const reducedToC = settings.activationEnergyJPerMol === null ? null : cellType.referenceTemperatureC;
  const condition = resistanceCondition(measured, reducedToC);
  const { series, without } = collect(measured, condition, settings, cellType);
  const column = settings.quantity === 'capacity' ? 'capacityAh' : 'resistanceOhm';
  if (series.every((one) => one[column] === null)) {
    throw new Refusal(
      'not-evaluable',
      `No cell of the lot ${lot.name} has a ${settings.quantity} with an age in ${settings.axis}.`,
      [
        fieldError(
          'quantity',
          settings.quantity,
          'nothing to follow',
          'cells with values at several ages, e.g. a cycle table',
        ),
      ],
    );
  }
  const stacks = (await listLotStacks(store, lotId)).filter(({ serials }) =>
    serials.every((serial) => series.some((one) => one.cell === serial && one[column] !== null)),
  );
  const asked = {
    quantity: settings.quantity,
    axis: settings.axis,
    ratedCapacityAh: cellType.ratedCapacityAh,
    limits,
    level: settings.level,
    refusedBeyondRatio: settings.refusedBeyondRatio,
    stays: settings.staysFor,
    lotPrior: settings.lotPrior,
    pairs: stacks.map(({ serials }) => ({ cells: serials, tolerance: settings.pairTolerance })),
    stress: stressOf(settings, series),
    reachedBy: settings.reachedBy,
    publishedLaws: settings.publishedLaws,
  };
  const given = { inputs: series, settings: asked };
  const result = await evaluateAgeingInThreads(given, { crew, onProgress });
  const pairs = result.pairs.map((pair, i) => ({
    ...pair,
    stackId: stacks[i].id,
    stackName: stacks[i].name,
  }));
  const fitId = await keep(context, lot, settings, { result, series, condition, without, pairs });
  return { fitId, cells: series.length, without: without.length };
}

function collect(
  measured: readonly MeasuredCell[],
  condition: AgeingCondition | null,
  settings: AgeingSettingsInput,
  cellType: CellType,
): { series: CellSeries[]; without: { cellId: number; serial: string }[] } {
  const series: CellSeries[] = [];
  const without: { cellId: number; serial: string }[] = [];
  for (const one of measured) {
    const made = seriesOf(one, condition, {
      axis: settings.axis,
      ratedCapacityAh: cellType.ratedCapacityAh,
      activationEnergyJPerMol: settings.activationEnergyJPerMol,
      referenceTemperatureC: cellType.referenceTemperatureC,
    });
    if (made === null) without.push({ cellId: one.cell.id, serial: one.cell.serial });
    else series.push(made);
  }
  return { series, without };
}

function stressOf(settings: AgeingSettingsInput, series: readonly CellSeries[]) {
  const { stress } = settings;
  if (stress === null) return undefined;
  const values = new Map<string, readonly number[]>();
  for (const { cellId, values: terms } of stress.cells) {
    const found = series.find((one) => one.cellId === cellId);
    if (found !== undefined) values.set(found.cell, terms);
  }
  return { terms: stress.terms, values };
}

interface Kept {
  readonly result: AgeingResult;
  readonly series: readonly CellSeries[];
  readonly condition: AgeingCondition | null;
  readonly without: StoredLotAgeing['without'];
  readonly pairs: StoredLotAgeing['pairs'];
}

/** Stores everything in one transaction; returns the lot's fit. */
async function keep(context: Context, lot: Lot, settings: AgeingSettingsInput, kept: Kept): Promise<number> {
  const { result, series, condition, without, pairs } = kept;
  const at = nowText(context);
  const by = { createdAt: at, createdBy: context.actor.name };
  const algorithm = {
    algorithm: result.algorithm.name,
    algorithmVersion: result.algorithm.version,
    settings,
  };
  const common = {
    axis: result.axis,
    ratedCapacityAh: result.ratedCapacityAh,
    resistanceCondition: condition,
  };
  return inTransaction(context, async (context) => {
    const cells = await inOrder(series, async (one, i) => {
      const cell: AgeingCell = result.cells[i];
      const fitId = await insertFit(context.store, {
        kind: 'ageing',
        quantity: result.quantity,
        cellId: one.cellId,
        ...algorithm,
        inputs: { measurementIds: one.measurementIds },
        result: { schemaVersion: 1, lotId: lot.id, ...common, cell },
        ...by,
      });
      await keepMeasurements(
        context.store,
        ageingMeasurements(cell, one.cellId, fitId, result.axis),
        result.quantity,
        at,
      );
      return { cellId: one.cellId, serial: one.cell, fitId };
    });
    const { quantity, stress, warnings } = result;
    const stored: StoredLotAgeing = {
      schemaVersion: 1,
      quantity,
      ...common,
      cells,
      without,
      pairs,
      stress,
      warnings,
    };
    const fitId = await insertFit(context.store, {
      kind: 'ageing-lot',
      quantity,
      lotId: lot.id,
      ...algorithm,
      inputs: { fitIds: cells.map((cell) => cell.fitId) },
      result: stored,
      ...by,
    });
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'lot.evaluated',
      subjectKind: 'lot',
      subjectId: lot.id,
      detail: { cells: cells.length, fitId },
    });
    return fitId;
  });
}

/**
 * Stores what an assessment says of its cell. Each number of a cell has one valid value: the rate of a quantity is that of
 * the quantity's own assessment, and another one tells it only where there is none; the end of life is the newest.
 */
async function keepMeasurements(
  store: Store,
  measurements: readonly NewMeasurement[],
  assessed: AgeingQuantityName,
  at: string,
): Promise<void> {
  for (const measurement of measurements) {
    const { cellId, quantity } = measurement;
    const other = assessed === 'capacity' ? 'resistance' : 'capacity';
    const hasOwn = (await listCellFits(store, cellId, 'ageing')).some((fit) => fit.quantity === other);
    if (hasOwn && quantity === rateQuantities[other]) continue;
    await supersedeFitted(store, cellId, quantity, 'ageing', at);
    await insertMeasurements(store, [measurement], at);
  }
}
