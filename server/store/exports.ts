import type { Page } from '../contract/common.ts';
import type { ExportEntry, ExportSubjectKind } from '../contract/exports.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';

const columns = [
  'id',
  'format',
  'subjectKind',
  'subjectId',
  'fileName',
  'mediaType',
  'sha256',
  'bytes',
  'createdAt',
  'createdBy',
] as const;

/** Stores an exported file and returns its identifier; inside a transaction. */
export async function insertExport(
  store: Store,
  entry: Omit<ExportEntry, 'id' | 'bytes'>,
  data: Uint8Array,
): Promise<number> {
  const { id } = await store.db
    .insertInto('Export')
    .values({ ...entry, bytes: data.length, data })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

export async function findExport(store: Store, id: number): Promise<ExportEntry | null> {
  const row = await store.db.selectFrom('Export').select(columns).where('id', '=', id).executeTakeFirst();
  return row ?? null;
}

/** The bytes of an exported file. */
export async function readExportData(store: Store, id: number): Promise<Uint8Array | null> {
  const row = await store.db.selectFrom('Export').select('data').where('id', '=', id).executeTakeFirst();
  return row?.data ?? null;
}

/** A page of the exports, newest first. */
export async function pageExports(
  store: Store,
  query: { cursor?: string; limit: number; subjectKind?: ExportSubjectKind; subjectId?: number },
): Promise<Page<ExportEntry>> {
  const { subjectKind, subjectId, cursor, limit } = query;
  return readPage<ExportEntry, ExportEntry>(store, {
    matching: matchingIds(store.db.selectFrom('Export').select('id'), { subjectKind, subjectId }),
    rows: (ids) => store.db.selectFrom('Export').select(columns).where('id', 'in', ids).execute(),
    present: (row) => row,
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}
