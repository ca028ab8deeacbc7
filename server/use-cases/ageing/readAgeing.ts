import type { Context } from '../../context.ts';
import {
  type CellAgeing,
  type LotAgeing,
  storedCellAgeing,
  storedLotAgeing,
} from '../../contract/ageingAssessment.ts';
import { type AgeingQuantityName, ageingQuantityName } from '../../contract/ageingTrack.ts';
import { notFound } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { findCell } from '../../store/cells.ts';
import { findFit, listCellFits, listLotFits, type StoredFit } from '../../store/fits.ts';
import { findLotHead } from '../../store/lots.ts';
import { parseStored } from '../../store/storedJson.ts';

/**
 * The valid assessment of a cell, null where it was not assessed: of the quantity asked for, else the newest.
 *
 * @throws Refusal `not-found`: no such cell
 */
export async function readCellAgeing(
  context: Context,
  cellId: number,
  quantity?: AgeingQuantityName,
): Promise<CellAgeing | null> {
  const cell = await findCell(context.store, cellId);
  if (cell === null) throw notFound('cell', cellId);
  const fits = await listCellFits(context.store, cellId, 'ageing');
  const fit = chosen(fits, quantity);
  if (fit === undefined) return null;
  return {
    cellId,
    serial: cell.serial,
    fit: headOf(fit),
    assessed: quantitiesOf(fits),
    assessment: parseStored(storedCellAgeing, fit.resultJson, `result of fit ${fit.id}`),
  };
}

/**
 * The valid assessment of a lot with the series of its cells, null where it was not assessed: of the quantity asked for,
 * else the newest.
 *
 * @throws Refusal `not-found`: no such lot
 */
export async function readLotAgeing(
  context: Context,
  lotId: number,
  quantity?: AgeingQuantityName,
): Promise<LotAgeing | null> {
  const { store } = context;
  const lot = await findLotHead(store, lotId);
  if (lot === null) throw notFound('lot', lotId);
  const fits = await listLotFits(store, lotId, 'ageing-lot');
  const fit = chosen(fits, quantity);
  if (fit === undefined) return null;
  const stored = parseStored(storedLotAgeing, fit.resultJson, `result of fit ${fit.id}`);
  const cells = (
    await inOrder(stored.cells, async ({ cellId, serial, fitId }) => {
      const own = await findFit(store, fitId);
      if (own === null) return [];
      const { cell } = parseStored(storedCellAgeing, own.resultJson, `result of fit ${own.id}`);
      const { unit, series, chosen: model, knee, limits, earliest, growthAgainstLoss, flags } = cell;
      const { x, value, leftOut } = series;
      return [
        {
          cellId,
          serial,
          fitId,
          unit,
          x,
          value,
          leftOut: leftOut.map(({ index }) => index),
          chosen: model,
          knee: knee.at,
          limits,
          earliest,
          growthAgainstLoss,
          flags,
        },
      ];
    })
  ).flat();
  return { ...stored, lotId, fit: headOf(fit), assessed: quantitiesOf(fits), cells };
}

function chosen(fits: readonly StoredFit[], quantity: AgeingQuantityName | undefined): StoredFit | undefined {
  return quantity === undefined ? fits[0] : fits.find((fit) => fit.quantity === quantity);
}

function quantitiesOf(fits: readonly StoredFit[]): AgeingQuantityName[] {
  return ageingQuantityName.options.filter((name) => fits.some((fit) => fit.quantity === name));
}

/** The head without the documents: what an answer may hold of a stored fit. */
function headOf(fit: StoredFit): LotAgeing['fit'] {
  const { lotId: _lot, cellTypeId: _type, settingsJson: _settings, inputsJson: _inputs, ...rest } = fit;
  const { resultJson: _result, ...head } = rest;
  return head;
}
