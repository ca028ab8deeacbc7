import type { SqlStore, Store } from './store.ts';

/** A file that was offered: taken, refused or undone. */
export interface StoredSourceFile {
  readonly id: number;
  readonly name: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly kind: string;
  readonly state: 'taken' | 'refused' | 'undone';
  readonly lotId: number | null;
  readonly rowCount: number;
  readonly importedAt: string;
  readonly importedBy: string;
  readonly mappingJson: string;
  readonly reportJson: string;
  readonly batch: string | null;
}

const columns = `id, name, sha256, bytes, kind, state, lotId, rowCount, importedAt, importedBy, mappingJson, reportJson, batch`;

export async function findSourceFile(store: SqlStore, id: number): Promise<StoredSourceFile | null> {
  return (await store.get<StoredSourceFile>(`SELECT ${columns} FROM SourceFile WHERE id = ?`, id)) ?? null;
}

/** The taken file with these bytes, or null. */
export async function findTakenFile(store: SqlStore, sha256: string): Promise<StoredSourceFile | null> {
  return (
    (await store.get<StoredSourceFile>(`SELECT ${columns} FROM SourceFile WHERE takenSha256 = ?`, sha256)) ??
    null
  );
}

/** The rows of its file that the spectrum of a test which begins there came from; null where none does. */
export async function findSweepRows(
  store: Store,
  testId: number,
  firstRow: number,
): Promise<{ first: number; last: number } | null> {
  return (
    (await store.get<{ first: number; last: number }>(
      'SELECT sourceRowFirst AS first, sourceRowLast AS last FROM Sweep WHERE testId = ? AND sourceRowFirst = ?',
      testId,
      firstRow,
    )) ?? null
  );
}

/** The rows of its file that a test came from. */
export async function findTestRows(
  store: Store,
  testId: number,
): Promise<{ first: number | null; last: number | null } | null> {
  return (
    (await store.get<{ first: number | null; last: number | null }>(
      'SELECT sourceRowFirst AS first, sourceRowLast AS last FROM Test WHERE id = ?',
      testId,
    )) ?? null
  );
}
