import { createStore, delMany, entries, setMany, type UseStore } from 'idb-keyval';
import type { ImportOptions } from '../../../../server/contract/import.ts';

/** A file of the list as it survives a reload of the page. */
export interface KeptFile {
  readonly key: string;
  readonly file: File;
  readonly options: ImportOptions;
  readonly addedAt: number;
  /** With what it was sent, once it was; sending it again under the same key does nothing twice. */
  readonly sent: { readonly options: ImportOptions; readonly batch: string } | null;
}

let opened: UseStore | null = null;

/** The browser's own storage for files; where it has none (a private window), the list lives as long as the page. */
async function inStore<T>(work: (store: UseStore) => Promise<T>, otherwise: T): Promise<T> {
  try {
    opened ??= createStore('gemel-import', 'files');
    return await work(opened);
  } catch {
    return otherwise;
  }
}

export function keepFiles(files: readonly KeptFile[]): Promise<void> {
  return inStore(
    (store) =>
      setMany(
        files.map((f) => [f.key, f]),
        store,
      ),
    undefined,
  );
}

export function dropFiles(keys: readonly string[]): Promise<void> {
  return inStore((store) => delMany([...keys], store), undefined);
}

/** The kept files in the order in which they were added. */
export async function readKeptFiles(): Promise<KeptFile[]> {
  const found = await inStore((store) => entries<string, KeptFile>(store), []);
  return found.map(([, file]) => file).sort((a, b) => a.addedAt - b.addedAt);
}
