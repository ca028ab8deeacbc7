import { checkLimits } from '../../assess/cell-types/checkCellTypeLimits.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CellType, ChangeCellType } from '../../contract/cellTypes.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCellType, findCellTypeByName, updateCellType } from '../../store/cellTypes.ts';
import { findChemistry } from '../../store/chemistries.ts';
import { versionChanged } from './versionChanged.ts';

/** Changes a cell type's fields; what was computed with the old ones keeps them. */
export async function changeCellType(
  context: Context,
  id: number,
  version: number,
  fields: ChangeCellType,
): Promise<CellType> {
  const present = await findCellType(context.store, id);
  if (!present) throw notFound('cell type', id);
  const chemistry = await findChemistry(context.store, fields.chemistryId ?? present.chemistryId);
  if (!chemistry) throw notFound('chemistry', fields.chemistryId ?? present.chemistryId, 'chemistryId');
  checkLimits({ ...present, ...fields }, chemistry);
  if (
    fields.name !== undefined &&
    fields.name !== present.name &&
    (await findCellTypeByName(context.store, fields.name))
  ) {
    throw new Refusal('conflict', `A cell type named ${fields.name} is there already.`, [
      fieldError('name', fields.name, 'is taken', 'another name'),
    ]);
  }
  await inTransaction(context, async (context) => {
    if (!(await updateCellType(context.store, id, version, fields)))
      throw versionChanged(version, present.version);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'cell-type.changed',
      subjectKind: 'cell-type',
      subjectId: id,
      detail: { fields: Object.keys(fields).join(', ') },
    });
  });
  return (await findCellType(context.store, id)) ?? present;
}
