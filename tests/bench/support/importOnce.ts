import { openFile } from '../../../server/import/byteSource.ts';
import { sqliteStore } from '../../../server/store/sqlite.ts';
import type { Store } from '../../../server/store/store.ts';
import { importFile } from '../../../server/use-cases/imports/importFile.ts';

/** Takes one file into a database made by `makeImportDatabase`; returns the seconds it took. */
export async function importOnce(database: string, csv: string): Promise<number> {
  const store = sqliteStore(database);
  const seconds = await importInto(store, csv);
  await store.close();
  return seconds;
}

/** Takes one file into a database of either kind; returns the seconds it took. */
export async function importInto(store: Store, csv: string): Promise<number> {
  const context = { store, now: () => new Date(), actor: { name: 'bench' } };
  const start = performance.now();
  const report = await importFile(
    context,
    { name: csv, open: async () => openFile(csv), rereadable: true },
    { lot: 'bench', cell: 'B-1' },
    'bench',
  );
  const seconds = (performance.now() - start) / 1000;
  if (report.state !== 'taken') throw new Error(`The file was refused: ${report.refusal?.reason ?? ''}`);
  return seconds;
}
