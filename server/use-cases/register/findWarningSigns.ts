import { madScale, median } from '../../../fitting/statistics/robust.ts';
import type { Context } from '../../context.ts';
import type { WarningSign } from '../../contract/lots.ts';
import { notFound } from '../../errors.ts';
import { listCells } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLot } from '../../store/lots.ts';
import { listNewestOf } from '../../store/measurements.ts';
import { listLowestVoltages } from '../../store/records.ts';

/** Below the cut-off by more than this a lithium cell counts as deeply discharged. Common practice, no source. */
const DEEP_DISCHARGE_MARGIN_V = 0.5;
/** A cell that loses more than this above the lot's median drifts. Common practice, no source: K values of sound cells lie within a few tenths of a mV a day. */
const DRIFT_MARGIN_MV_PER_DAY = 0.3;
const DRIFT_SCORE = 3.5;

/** Words in a note that speak of damage or misuse; a note that denies them counts too, so that a person looks at the cell. */
const damage =
  /\b(warning sign|damag|dent|swell|swollen|bulg|leak|punctur|crush|dropped|burn(?:t|ed)|corro|rust|vented|overcharg|overheat|short[ -]?circuit)/i;

/**
 * Cells of a lot that must not be offered for pairing, whatever their capacity and resistance: deeply discharged once,
 * losing voltage at rest faster than the lot, or noted as damaged.
 */
export async function findWarningSigns(context: Context, lotId: number): Promise<WarningSign[]> {
  const { store } = context;
  const lot = await findLot(store, lotId);
  if (!lot) throw notFound('lot', lotId);
  const cellType = await findCellType(store, lot.cellTypeId);
  if (!cellType) throw notFound('cell type', lot.cellTypeId);
  const cutoffV = cellType.limits.dischargeCutoffV;
  const signs: WarningSign[] = [];
  const cells = await listCells(store, lotId);
  const lowest = await listLowestVoltages(store, lotId);
  const drifts = await listNewestOf(store, lotId, 'drift');
  const values = [...drifts.values()].map((m) => m.value);
  const centre = values.length >= 5 ? median(values) : 0;
  const scale = values.length >= 5 ? madScale(values) : 0;
  for (const cell of cells) {
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
    const drift = drifts.get(cell.id);
    const limit = centre - Math.max(DRIFT_MARGIN_MV_PER_DAY, DRIFT_SCORE * scale);
    if (drift && drift.value + 2 * (drift.standardUncertainty ?? 0) < limit) {
      signs.push({
        cellId: cell.id,
        serial: cell.serial,
        code: 'voltage-drift',
        value: drift.value,
        limit,
        unit: 'mV/d',
      });
    }
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
  }
  return signs;
}
