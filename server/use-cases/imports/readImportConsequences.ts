import type { Context } from '../../context.ts';
import type { ImportConsequences } from '../../contract/import.ts';
import { notFound } from '../../errors.ts';
import { findSourceFile } from '../../store/sourceFiles.ts';
import { readTouchedBy } from '../../store/undoneFiles.ts';

/** What undoing an import would touch, to be shown before it is undone. @throws Refusal `not-found` */
export async function readImportConsequences(context: Context, fileId: number): Promise<ImportConsequences> {
  if ((await findSourceFile(context.store, fileId)) === null) throw notFound('import', fileId);
  return readTouchedBy(context.store, fileId);
}
