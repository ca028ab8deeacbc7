import type { Context } from '../../context.ts';
import { type CellHeatBalance, heatBalanceResult } from '../../contract/heatBalance.ts';
import { notFound } from '../../errors.ts';
import { findCell } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findCellFit, listTypeFits, type StoredFit } from '../../store/fits.ts';
import { findTest } from '../../store/tests.ts';

/**
 * The heat balance fitted from a test of a cell; null where none was, or where the test is no longer there.
 *
 * @throws Refusal `not-found`: no such cell
 */
export function readCellHeatBalance(context: Context, cellId: number): CellHeatBalance | null {
  const cell = findCell(context.store, cellId);
  if (cell === null) throw notFound('cell', cellId);
  const fit = findCellFit(context.store, cellId, 'heat-balance');
  return fit === null ? null : present(context, fit);
}

/** The heat balance to use for a cell whose type has none: its own, or else the newest of another cell of the type. */
export function usableHeatBalance(
  context: Context,
  cellId: number,
  cellTypeId: number,
): CellHeatBalance | null {
  const own = readCellHeatBalance(context, cellId);
  if (own?.takeOver != null) return own;
  for (const fit of listTypeFits(context.store, cellTypeId, 'heat-balance')) {
    const other = present(context, fit);
    if (other?.takeOver != null) return other;
  }
  return null;
}

function present(context: Context, fit: StoredFit): CellHeatBalance | null {
  const result = heatBalanceResult.parse(JSON.parse(fit.resultJson));
  const cell = fit.cellId === null ? null : findCell(context.store, fit.cellId);
  const cellType = cell === null ? null : findCellType(context.store, cell.cellTypeId);
  if (cell === null || cellType === null || findTest(context.store, result.testId) === null) return null;
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
    // A cell that gives off no heat at all was not told apart from one in a perfect shelter: nothing to take over.
    takeOver:
      heatCapacityJPerK === null || heatTransferWPerK === null || heatTransferWPerK === 0
        ? null
        : { heatCapacityJPerK, heatTransferWPerK },
  };
}
