import type { Context } from '../../context.ts';
import {
  type CellAgeing,
  type LotAgeing,
  storedCellAgeing,
  storedLotAgeing,
} from '../../contract/ageingAssessment.ts';
import { notFound } from '../../errors.ts';
import { findCell } from '../../store/cells.ts';
import { findCellFit, findFit, findLotFit, type StoredFit } from '../../store/fits.ts';
import { findLot } from '../../store/lots.ts';

/** The valid assessment of a cell, null where it was not assessed. @throws Refusal `not-found`: no such cell */
export function readCellAgeing(context: Context, cellId: number): CellAgeing | null {
  const cell = findCell(context.store, cellId);
  if (cell === null) throw notFound('cell', cellId);
  const fit = findCellFit(context.store, cellId, 'ageing');
  if (fit === null) return null;
  return {
    cellId,
    serial: cell.serial,
    fit: headOf(fit),
    assessment: storedCellAgeing.parse(JSON.parse(fit.resultJson)),
  };
}

/**
 * The valid assessment of a lot with the series of its cells, null where it was not assessed.
 *
 * @throws Refusal `not-found`: no such lot
 */
export function readLotAgeing(context: Context, lotId: number): LotAgeing | null {
  const { store } = context;
  const lot = findLot(store, lotId);
  if (lot === null) throw notFound('lot', lotId);
  const fit = findLotFit(store, lotId, 'ageing-lot');
  if (fit === null) return null;
  const stored = storedLotAgeing.parse(JSON.parse(fit.resultJson));
  const cells = stored.cells.flatMap(({ cellId, serial, fitId }) => {
    const own = findFit(store, fitId);
    if (own === null) return [];
    const { cell } = storedCellAgeing.parse(JSON.parse(own.resultJson));
    const { unit, series, chosen, knee, limits, earliest, growthAgainstLoss, flags } = cell;
    const { x, value } = series;
    return [
      {
        cellId,
        serial,
        fitId,
        unit,
        x,
        value,
        chosen,
        knee: knee.at,
        limits,
        earliest,
        growthAgainstLoss,
        flags,
      },
    ];
  });
  return { ...stored, lotId, fit: headOf(fit), cells };
}

function headOf(fit: StoredFit): LotAgeing['fit'] {
  const {
    id,
    kind,
    testId,
    cellId,
    algorithm,
    algorithmVersion,
    createdAt,
    createdBy,
    supersededAt,
    supersededById,
  } = fit;
  return {
    id,
    kind,
    testId,
    cellId,
    algorithm,
    algorithmVersion,
    createdAt,
    createdBy,
    supersededAt,
    supersededById,
  };
}
