import type { Context } from '../../context.ts';
import { type CellHeatBalance, heatBalanceResult } from '../../contract/heatBalance.ts';
import { notFound } from '../../errors.ts';
import { findCell } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findCellFit, listTypeFits, type StoredFit } from '../../store/fits.ts';
import { parseStored } from '../../store/storedJson.ts';
import { findTest } from '../../store/tests.ts';

/**
 * The heat balance fitted from a test of a cell; null where none was, or where the test is no longer there.
 *
 * @throws Refusal `not-found`: no such cell
 */
export async function readCellHeatBalance(context: Context, cellId: number): Promise<CellHeatBalance | null> {
  const cell = await findCell(context.store, cellId);
  if (cell === null) throw notFound('cell', cellId);
  const fit = await findCellFit(context.store, cellId, 'heat-balance');
  return fit === null ? null : await present(context, fit);
}

/** The heat balance to use for a cell whose type has none: its own, or else the newest of another cell of the type. */
export async function usableHeatBalance(
  context: Context,
  cellId: number,
  cellTypeId: number,
): Promise<CellHeatBalance | null> {
  const own = await readCellHeatBalance(context, cellId);
  if (own?.takeOver != null) return own;
  for (const fit of await listTypeFits(context.store, cellTypeId, 'heat-balance')) {
    const other = await present(context, fit);
    if (other?.takeOver != null) return other;
  }
  return null;
}

async function present(context: Context, fit: StoredFit): Promise<CellHeatBalance | null> {
  const result = parseStored(heatBalanceResult, fit.resultJson, `result of fit ${fit.id}`);
  const cell = fit.cellId === null ? null : await findCell(context.store, fit.cellId);
  const cellType = cell === null ? null : await findCellType(context.store, cell.cellTypeId);
  if (cell === null || cellType === null || (await findTest(context.store, result.testId)) === null)
    return null;
  const { heatCapacityJPerK, heatTransferWPerK } = result;
  return {
    fitId: fit.id,
    createdAt: fit.createdAt,
    createdBy: fit.createdBy,
    cellId: cell.id,
    serial: cell.serial,
    result,
    cellType: {
      id: cellType.id,
      version: cellType.version,
      heatCapacityJPerK: cellType.heatCapacityJPerK,
      heatTransferWPerK: cellType.heatTransferWPerK,
    },
    // A cell that gives off no heat at all cannot be distinguished from one in a perfect shelter: nothing to take over.
    takeOver:
      heatCapacityJPerK === null || heatTransferWPerK === null || heatTransferWPerK === 0
        ? null
        : { heatCapacityJPerK, heatTransferWPerK },
  };
}
