import { type Context, inTransaction, nowText } from '../../context.ts';
import type { Cell, ChangeCell } from '../../contract/cells.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell, updateCell } from '../../store/cells.ts';
import { versionChanged } from './versionChanged.ts';

/** Sets a cell aside, takes it back, retires it, or changes its note. */
export async function changeCell(
  context: Context,
  id: number,
  version: number,
  fields: ChangeCell,
): Promise<Cell> {
  const present = await findCell(context.store, id);
  if (!present) throw notFound('cell', id);
  if (fields.state !== undefined && fields.state !== present.state) {
    if (present.state === 'in-stack') {
      throw new Refusal(
        'in-use',
        `The cell ${present.serial} is in the stack ${present.stackName ?? ''}; undo or retire that first.`,
      );
    }
    if (fields.state !== 'available' && !fields.stateReason) {
      throw new Refusal('invalid-request', 'A cell is set aside or retired with a reason.', [
        fieldError('stateReason', fields.stateReason, 'missing', 'why the cell is not to be used'),
      ]);
    }
  }
  const change = fields.state === 'available' ? { ...fields, stateReason: null } : fields;
  await inTransaction(context, async (context) => {
    if (!(await updateCell(context.store, id, version, change)))
      throw versionChanged(version, present.version);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: fields.state === undefined ? 'cell.changed' : `cell.${fields.state}`,
      subjectKind: 'cell',
      subjectId: id,
      detail: fields.stateReason ? { reason: fields.stateReason } : {},
    });
  });
  return (await findCell(context.store, id)) ?? present;
}
