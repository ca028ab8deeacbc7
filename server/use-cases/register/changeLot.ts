import { type Context, inTransaction, nowText } from '../../context.ts';
import type { ChangeLot, Lot } from '../../contract/lots.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { hasIncoming } from '../../store/incomingFiles.ts';
import { deleteEmptyLot, findLot, findLotByName, updateLot } from '../../store/lots.ts';
import { versionChanged } from './versionChanged.ts';

/** Changes a lot's name, type, date or note. */
export async function changeLot(
  context: Context,
  id: number,
  version: number,
  fields: ChangeLot,
): Promise<Lot> {
  const present = await findLot(context.store, id);
  if (!present) throw notFound('lot', id);
  if (fields.cellTypeId !== undefined && !(await findCellType(context.store, fields.cellTypeId))) {
    throw notFound('cell type', fields.cellTypeId, 'cellTypeId');
  }
  if (
    fields.name !== undefined &&
    fields.name !== present.name &&
    (await findLotByName(context.store, fields.name))
  ) {
    throw new Refusal('conflict', `A lot named ${fields.name} is there already.`, [
      fieldError('name', fields.name, 'is taken', 'another name'),
    ]);
  }
  await inTransaction(context, async (context) => {
    if (!(await updateLot(context.store, id, version, fields)))
      throw versionChanged(version, present.version);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'lot.changed',
      subjectKind: 'lot',
      subjectId: id,
      detail: { fields: Object.keys(fields).join(', ') },
    });
  });
  return (await findLot(context.store, id)) ?? present;
}

/** Removes a lot that holds no cells; one with cells is kept. */
export async function removeEmptyLot(context: Context, id: number, version: number): Promise<void> {
  const present = await findLot(context.store, id);
  if (!present) throw notFound('lot', id);
  if (present.counts.cells > 0) {
    throw new Refusal('in-use', `The lot ${present.name} is not empty; only an empty lot can be removed.`, [
      fieldError('id', id, `holds cells: ${present.counts.cells}`, 'a lot without cells'),
    ]);
  }
  if (await hasIncoming(context.store, id)) {
    throw new Refusal('in-use', `A file is being imported into the lot ${present.name}.`, [
      fieldError('id', id, 'is given the cells of a file', 'a lot without cells'),
    ]);
  }
  await inTransaction(context, async (context) => {
    if (!(await deleteEmptyLot(context.store, id, version))) throw versionChanged(version, present.version);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'lot.removed',
      subjectKind: 'lot',
      subjectId: id,
      detail: { name: present.name },
    });
  });
}
