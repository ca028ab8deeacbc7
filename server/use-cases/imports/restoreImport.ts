import { type Context, inTransaction, nowText } from '../../context.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { findNewestAudit, insertAudit } from '../../store/audit.ts';
import { findImport, findSourceFile, type StoredImport } from '../../store/sourceFiles.ts';
import { restoreAllOf } from '../../store/undoneFiles.ts';
import { recountStatesOfFile } from '../parameters/recountStates.ts';
import { isWithinADay } from '../withinADay.ts';

/**
 * Takes the undoing of an import back: its tests and results hold again. Where cells were removed, nothing depended on
 * them, and the file is imported again instead.
 *
 * @throws Refusal `not-found`, `conflict` where it is not undone, for longer than a day, or was taken again
 */
export async function restoreImport(context: Context, fileId: number): Promise<StoredImport> {
  await inTransaction(context, async (context) => {
    const found = await findSourceFile(context.store, fileId);
    if (found === null) throw notFound('import', fileId);
    const undone = await findNewestAudit(context.store, 'file.undone', 'source-file', fileId);
    if (found.state !== 'undone' || undone === null)
      throw refusal(`it is ${found.state}`, 'an undone import');
    if (!isWithinADay(context, undone.at)) throw refusal(`undone at ${undone.at}`, 'undone within 24 hours');
    if (undone.detail.cellsRemoved !== 0)
      throw refusal('its cells were removed with it', 'the file, imported again');
    if (!(await restoreAllOf(context.store, fileId, undone.at)))
      throw refusal('the same file was imported again', 'a file that is imported once');
    await recountStatesOfFile(context.store, fileId);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'file.restored',
      subjectKind: 'source-file',
      subjectId: fileId,
    });
  });
  return (await findImport(context.store, fileId)) as StoredImport;
}

function refusal(reason: string, expected: string): Refusal {
  return new Refusal('conflict', `The undoing of this import cannot be taken back: ${reason}.`, [
    fieldError('id', null, reason, expected),
  ]);
}
