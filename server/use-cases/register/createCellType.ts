import { checkLimits } from '../../assess/cell-types/checkCellTypeLimits.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CellType, CreateCellType } from '../../contract/cellTypes.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCellType, findCellTypeByName, insertCellType } from '../../store/cellTypes.ts';
import { findChemistry } from '../../store/chemistries.ts';

/** Adds a cell type with the limits of its datasheet. */
export async function createCellType(context: Context, fields: CreateCellType): Promise<CellType> {
  const chemistry = await findChemistry(context.store, fields.chemistryId);
  if (!chemistry) throw notFound('chemistry', fields.chemistryId, 'chemistryId');
  checkLimits(fields, chemistry);
  if (await findCellTypeByName(context.store, fields.name)) {
    throw new Refusal('conflict', `A cell type named ${fields.name} is there already.`, [
      fieldError('name', fields.name, 'is taken', 'another name'),
    ]);
  }
  const at = nowText(context);
  const id = await inTransaction(context, async (context) => {
    const added = await insertCellType(context.store, fields, at);
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'cell-type.created',
      subjectKind: 'cell-type',
      subjectId: added,
    });
    return added;
  });
  const made = await findCellType(context.store, id);
  if (!made) throw notFound('cell type', id);
  return made;
}
