import type { Context } from '../../context.ts';
import type { WarningSign } from '../../contract/lots.ts';
import type { WarningSignCode } from '../../contract/pairingCriteria.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { atOneMoment } from '../../store/atOneMoment.ts';
import { findWarningSigns } from './findWarningSigns.ts';

/** A sign of each cell that has one, by the cell's number. */
export type SignsByCell = ReadonlyMap<number, WarningSign>;

/**
 * The signs that cells have now: a cell may have got one since the run that proposed it, by a note of damage or a record
 * of a deep discharge. They are looked for before the transaction that a cell is taken in, not in it: whole columns of the lots are
 * read for them, and everybody who stores anything there would come in its way.
 *
 * @param ignored signs that the criteria of the run ignore
 */
export async function findSignsOfLots(
  context: Context,
  lotIds: readonly number[],
  ignored: readonly WarningSignCode[] = [],
): Promise<SignsByCell> {
  return atOneMoment(context.store, async (store) => {
    const signs = new Map<number, WarningSign>();
    for (const lotId of lotIds)
      for (const sign of await findWarningSigns({ ...context, store }, lotId))
        if (!ignored.includes(sign.code) && !signs.has(sign.cellId)) signs.set(sign.cellId, sign);
    return signs;
  });
}

/** @throws Refusal `conflict` naming the first of these cells that has a sign, and the sign */
export function refuseWarningSigns(signs: SignsByCell, cellIds: readonly number[], field: string): void {
  const sign = cellIds.map((id) => signs.get(id)).find((found) => found !== undefined);
  if (sign)
    throw new Refusal('conflict', `The cell ${sign.serial} carries a warning sign meanwhile: ${sign.code}.`, [
      fieldError(field, sign.serial, sign.code, 'cells without a warning sign'),
    ]);
}
