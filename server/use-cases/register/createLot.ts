import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CreateLot, Lot } from '../../contract/lots.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLot, findLotByName, insertLot } from '../../store/lots.ts';

/** Adds a lot: one delivery of one cell type. */
export async function createLot(context: Context, fields: CreateLot): Promise<Lot> {
  if (!(await findCellType(context.store, fields.cellTypeId)))
    throw notFound('cell type', fields.cellTypeId, 'cellTypeId');
  if (await findLotByName(context.store, fields.name)) {
    throw new Refusal('conflict', `A lot named ${fields.name} is there already.`, [
      fieldError('name', fields.name, 'is taken', 'another name'),
    ]);
  }
  const at = nowText(context);
  const id = await inTransaction(context, async (context) => {
    const added = await insertLot(context.store, fields, at);
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'lot.created',
      subjectKind: 'lot',
      subjectId: added,
    });
    return added;
  });
  const made = await findLot(context.store, id);
  if (!made) throw notFound('lot', id);
  return made;
}
