import { type Context, inTransaction, nowText } from '../../context.ts';
import type { Cell, CreateCell } from '../../contract/cells.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell, findCellBySerial, insertCell } from '../../store/cells.ts';
import { isSerialIncoming } from '../../store/incomingFiles.ts';
import { findLotHead } from '../../store/lots.ts';

/** Adds a cell to a lot by its serial. */
export async function createCell(context: Context, fields: CreateCell): Promise<Cell> {
  const lot = await findLotHead(context.store, fields.lotId);
  if (!lot) throw notFound('lot', fields.lotId, 'lotId');
  const taken = (why: string) =>
    new Refusal('conflict', why, [
      fieldError('serial', fields.serial, 'is taken in this lot', 'another serial'),
    ]);
  if (await findCellBySerial(context.store, fields.lotId, fields.serial))
    throw taken(`The lot ${lot.name} has a cell ${fields.serial} already.`);
  const at = nowText(context);
  const id = await inTransaction(context, async (context) => {
    if (await isSerialIncoming(context.store, fields.lotId, fields.serial))
      throw taken(`The cell ${fields.serial} is in a file that is being imported into the lot ${lot.name}.`);
    const made = await insertCell(context.store, { ...fields, createdAt: at, sourceFileId: null });
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'cell.created',
      subjectKind: 'cell',
      subjectId: made,
    });
    return made;
  });
  const made = await findCell(context.store, id);
  if (!made) throw notFound('cell', id);
  return made;
}
