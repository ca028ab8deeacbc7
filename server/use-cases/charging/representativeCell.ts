import { ageDifference } from '../../assess/charging/parameterAges.ts';
import type { Context } from '../../context.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import type { RepresentativeCell } from '../../contract/chargeRates.ts';
import type { ChargeCellDescription } from '../../contract/chargeStudy.ts';
import { studyModel } from '../../export/circuitModel.ts';
import { ExportRefused } from '../../export/refusal.ts';
import { listFittedCellIds } from '../../store/fits.ts';
import { columnValues, listColumns, readColumnKey } from '../../store/measurements.ts';
import { listLotIds } from '../../store/parameterSources.ts';
import { readParameters } from '../parameters/readParameters.ts';
import { findWarningSigns } from '../register/findWarningSigns.ts';
import { fitsOf } from './chargeStudySubject.ts';
import { usableHeatBalance } from './readHeatBalance.ts';

/** A fitted cell that represents its type, as a study takes it. */
export interface Representative {
  readonly about: RepresentativeCell;
  readonly cell: ChargeCellDescription;
}

/** A table begins with a nearly empty cell, so that the whole charge is looked at. */
const START_SOC = 0.1;
/** Of several resistances the one nearest to this duration is compared. */
const USUAL_DURATION_S = 10;
/** So many cells of a lot are tried where one cannot be simulated (no capacity, too few states of charge). */
const MOST_TRIED = 12;

/**
 * The cell that represents its type: of the lot entered last that has fitted cells in use without a warning sign, the one at
 * the middle of their resistances (of two, the higher), or the nearest to it that can be simulated. Null where no cell of the
 * type can be.
 */
export async function representativeCell(
  context: Context,
  cellType: CellType,
): Promise<Representative | null> {
  const { id: cellTypeId, referenceSoc } = cellType;
  for (const lotId of (await listLotIds(context.store, cellTypeId)).reverse()) {
    const inUse = await listFittedCellIds(context.store, lotId, 'pulse');
    if (inUse.length === 0) continue;
    const warned = new Set((await findWarningSigns(context, lotId)).map((sign) => sign.cellId));
    const fitted = inUse.filter((cellId) => !warned.has(cellId));
    const { order, column, values } = await byResistance(context, lotId, fitted, referenceSoc);
    for (const cellId of order.slice(0, MOST_TRIED)) {
      const found = await simulated(context, cellId);
      if (found === null) continue;
      const { cell, model, fitIds } = found;
      const temperatures = cell.circuits
        .filter((table) => table.direction === model.direction)
        .map((table) => table.temperatureC)
        .filter((value) => value !== null);
      const known = temperatures.length > 0;
      const heat =
        model.cell.thermal === undefined ? await usableHeatBalance(context, cellId, cellTypeId) : null;
      const taken = heat?.takeOver == null ? undefined : { ...heat.takeOver, basis: 'fitted' as const };
      const thermal = model.cell.thermal ?? taken;
      const about: RepresentativeCell = {
        cellId,
        serial: cell.serial,
        lotId,
        lotName: cell.lot.name,
        chosenBy: column === null ? 'first-fitted' : 'median-resistance',
        resistanceOhm: values.get(cellId) ?? null,
        resistanceColumn: column,
        fittedCells: fitted.length,
        fitIds,
        measuredFromC: known ? Math.min(...temperatures) : null,
        measuredToC: known ? Math.max(...temperatures) : null,
        heatBalance: thermal !== undefined,
        notes: [
          ...model.notes,
          ...model.warnings.map(({ message }) => message),
          ...(heat === null ? [] : [`heat balance fitted from cell ${heat.serial}`]),
          ...[ageDifference(cell)].filter((note) => note !== null),
        ],
      };
      return { about, cell: { ...model.cell, ...(thermal === undefined ? {} : { thermal }) } };
    }
  }
  return null;
}

/**
 * The fitted cells of a lot, those nearest to the middle resistance first. Compared is the resistance that most of them have;
 * of those the one nearest to the reference SOC, then to 10 s.
 */
async function byResistance(
  context: Context,
  lotId: number,
  fitted: readonly number[],
  referenceSoc: number,
) {
  const away = ({ soc, durationS }: { soc: number | null; durationS: number | null }) =>
    10 * Math.abs((soc ?? 1) - referenceSoc) + Math.abs(Math.log((durationS ?? 1e4) / USUAL_DURATION_S));
  const columns = (await listColumns(context.store, lotId))
    .filter(({ quantity }) => quantity === 'resistance')
    .sort((a, b) => away(a) - away(b));
  let column: string | null = null;
  let values = new Map<number, number>();
  for (const { key: text } of columns) {
    const key = readColumnKey(text);
    if (key === null) continue;
    const measured = await columnValues(context.store, lotId, key);
    const found = fitted.flatMap((cellId): [number, number][] => {
      const value = measured.get(cellId)?.value ?? null;
      return value === null ? [] : [[cellId, value]];
    });
    if (found.length <= values.size) continue;
    column = text;
    values = new Map(found);
    if (values.size === fitted.length) break;
  }
  if (column === null) return { order: [...fitted], column, values };
  const sorted = [...values].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
  const middle = Math.floor(sorted.length / 2);
  const order = sorted
    .map(([cellId], place) => ({ cellId, distance: Math.abs(place - middle) }))
    .sort((a, b) => a.distance - b.distance)
    .map(({ cellId }) => cellId);
  return { order, column, values };
}

/** The cell's circuit model; null where its fits do not make one. */
async function simulated(context: Context, cellId: number) {
  const { cells, cellType } = await readParameters(context, 'cell', cellId);
  const cell = cells[0];
  try {
    const model = studyModel(cell, cellType, START_SOC);
    return {
      cell,
      model,
      fitIds: fitsOf({ name: cell.serial, stackId: null, cells: [{ cell, cellType }] }),
    };
  } catch (error) {
    if (error instanceof ExportRefused) return null;
    throw error;
  }
}
