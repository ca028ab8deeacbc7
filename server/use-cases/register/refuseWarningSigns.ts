import type { Context } from '../../context.ts';
import type { Cell } from '../../contract/cells.ts';
import type { WarningSignCode } from '../../contract/pairingCriteria.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { findWarningSigns } from './findWarningSigns.ts';

/**
 * A cell may have got a warning sign since the run that proposed it: a note of damage, a record of a deep discharge.
 *
 * @param ignored signs that the criteria of the run ignore
 * @throws Refusal `conflict` naming the cell and the sign
 */
export async function refuseWarningSigns(
  context: Context,
  cells: readonly Cell[],
  field: string,
  ignored: readonly WarningSignCode[] = [],
): Promise<void> {
  for (const lotId of new Set(cells.map((cell) => cell.lotId))) {
    const sign = (await findWarningSigns(context, lotId)).find(
      ({ cellId, code }) => !ignored.includes(code) && cells.some(({ id }) => id === cellId),
    );
    if (sign)
      throw new Refusal(
        'conflict',
        `The cell ${sign.serial} carries a warning sign meanwhile: ${sign.code}.`,
        [fieldError(field, sign.serial, sign.code, 'cells without a warning sign')],
      );
  }
}
