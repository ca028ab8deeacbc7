import type { Context } from '../../context.ts';
import { nowText } from '../../context.ts';
import { notFound, Refusal } from '../../errors.ts';
import type { StoredImport } from '../../store/imports.ts';
import { findImport, undoImport as undo } from '../../store/imports.ts';

/** Takes an import back. @throws Refusal `not-found`, `conflict` where the file was refused or is undone already */
export async function undoImport(context: Context, fileId: number): Promise<StoredImport> {
  const found = await findImport(context.store, fileId);
  if (found === null) throw notFound('import', fileId);
  if (!(await undo(context.store, fileId, nowText(context), context.actor.name))) {
    throw new Refusal('conflict', `Import ${fileId} is ${found.state}; only a taken file can be undone.`);
  }
  return (await findImport(context.store, fileId)) as StoredImport;
}
