import { type Context, inTransaction, nowText } from '../../context.ts';
import { notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findImport, findSourceFile, markUndone, type StoredImport } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import {
  deleteCellOf,
  hideWithItsCells,
  listUnusedCellsOf,
  supersedeAllOf,
} from '../../store/undoneFiles.ts';
import { recountStatesOfFile } from '../parameters/recountStates.ts';

/**
 * Takes an import back in one transaction. Its results are superseded and its tests set to `undone`, so that what was
 * made from them can still be traced; cells that it brought and on which nothing else rests are removed with their
 * tests. The same bytes can be taken again afterwards.
 *
 * @throws Refusal `not-found`, `conflict` where the file was refused or is undone already
 */
export async function undoImport(context: Context, fileId: number): Promise<StoredImport> {
  await inTransaction(context, async (context) => {
    const { store } = context;
    const found = await findSourceFile(store, fileId);
    if (found === null) throw notFound('import', fileId);
    if (!(await markUndone(store, fileId))) {
      throw new Refusal('conflict', `Import ${fileId} is ${found.state}; only a taken file can be undone.`);
    }
    const at = nowText(context);
    const cellsRemoved = (await hideWithItsCells(store, fileId)) ?? (await removeCells(store, fileId, at));
    await insertAudit(store, {
      at,
      actor: context.actor.name,
      action: 'file.undone',
      subjectKind: 'source-file',
      subjectId: fileId,
      detail: { cellsRemoved },
    });
  });
  return (await findImport(context.store, fileId)) as StoredImport;
}

async function removeCells(store: Store, fileId: number, at: string): Promise<number> {
  const cellIds = await listUnusedCellsOf(store, fileId);
  for (const cellId of cellIds) await deleteCellOf(store, fileId, cellId);
  await supersedeAllOf(store, fileId, at);
  await recountStatesOfFile(store, fileId);
  return cellIds.length;
}
