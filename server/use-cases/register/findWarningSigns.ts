import { selfDischargeSigns } from '../../../fitting/pairing/index.ts';
import { isDeliveredOcv } from '../../assess/pairing/usualGates.ts';
import type { Context } from '../../context.ts';
import type { WarningSign } from '../../contract/lots.ts';
import { stackDriftNote } from '../../contract/stackLife.ts';
import { notFound } from '../../errors.ts';
import { listCells } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { listLotStackFits } from '../../store/fits.ts';
import { findLotHead } from '../../store/lots.ts';
import { columnValues, listColumns, listNewestOf, readColumnKey } from '../../store/measurements.ts';
import { listLowestVoltages } from '../../store/records.ts';
import { parseStored } from '../../store/storedJson.ts';

/** Below the cut-off by more than this a lithium cell counts as deeply discharged. Common practice, no source. */
const DEEP_DISCHARGE_MARGIN_V = 0.5;
/** Words in a note that mean damage or misuse; a note that denies them counts too, so that a person looks at the cell. */
const damage =
  /\b(warning sign|damag|dent|swell|swollen|bulg|leak|punctur|crush|dropped|burn(?:t|ed)|corro|rust|vented|overcharg|overheat|short[ -]?circuit)/i;

/**
 * Cells of a lot that must not be offered for pairing, whatever their capacity and resistance: deeply discharged once,
 * losing voltage at rest faster than the lot, delivered at a voltage below the lot's, drifting from the others of its stack, or noted as
 * damaged.
 */
export async function findWarningSigns(context: Context, lotId: number): Promise<WarningSign[]> {
  const { store } = context;
  const lot = await findLotHead(store, lotId);
  if (!lot) throw notFound('lot', lotId);
  const cellType = await findCellType(store, lot.cellTypeId);
  if (!cellType) throw notFound('cell type', lot.cellTypeId);
  const cutoffV = cellType.limits.dischargeCutoffV;
  const signs: WarningSign[] = [];
  const cells = await listCells(store, lotId);
  const lowest = await listLowestVoltages(store, lotId);
  const drifts = await listNewestOf(store, lotId, 'drift');
  const ocvs = await deliveredVoltages(context, lotId);
  const apart = await driftingCells(context, lotId);
  const found = selfDischargeSigns(
    cells.map(({ id }) => ({
      driftMvPerDay: drifts.get(id)?.value ?? null,
      driftUncertaintyMvPerDay: drifts.get(id)?.standardUncertainty ?? null,
      ocvV: ocvs.get(id) ?? null,
    })),
  );
  cells.forEach((cell, place) => {
    const lowestV = lowest.get(cell.id);
    if (lowestV !== undefined && lowestV < cutoffV - DEEP_DISCHARGE_MARGIN_V) {
      signs.push({
        cellId: cell.id,
        serial: cell.serial,
        code: 'deep-discharge',
        value: lowestV,
        limit: cutoffV - DEEP_DISCHARGE_MARGIN_V,
        unit: 'V',
      });
    }
    for (const { code, value, limit } of found.filter(({ cell: at }) => at === place)) {
      signs.push({
        cellId: cell.id,
        serial: cell.serial,
        code,
        value,
        limit,
        unit: code === 'low-ocv' ? 'V' : 'mV/d',
      });
    }
    const perCycleAh = apart.get(cell.id);
    if (perCycleAh !== undefined)
      signs.push({
        cellId: cell.id,
        serial: cell.serial,
        code: 'stack-drift',
        value: 1000 * perCycleAh,
        limit: null,
        unit: 'mAh',
      });
    if (damage.test(`${cell.note} ${cell.stateReason ?? ''}`)) {
      signs.push({
        cellId: cell.id,
        serial: cell.serial,
        code: 'damage-noted',
        value: null,
        limit: null,
        unit: '',
      });
    }
  });
  return signs;
}

/** Charge that a cell of a stack gains on the stack's first cell in a cycle, Ah, of the cells that drift. */
async function driftingCells({ store }: Context, lotId: number): Promise<Map<number, number>> {
  const fits = await listLotStackFits(store, lotId, 'stack-drift');
  return new Map(
    fits.flatMap(({ id, resultJson }) =>
      parseStored(stackDriftNote, resultJson, `drift of fit ${id}`)
        .cells.filter(({ drifting }) => drifting)
        .map(({ cellId, perCycleAh }): [number, number] => [cellId, perCycleAh]),
    ),
  );
}

/** The open-circuit voltages as delivered, by cell: those of the column without a stated state of charge that most have. */
async function deliveredVoltages({ store }: Context, lotId: number): Promise<Map<number, number>> {
  const column = (await listColumns(store, lotId)).find(isDeliveredOcv);
  const key = column === undefined ? null : readColumnKey(column.key);
  if (key === null) return new Map();
  return new Map(
    [...(await columnValues(store, lotId, key))].map(([id, { value }]) => [id, value as number]),
  );
}
