import type { Page } from '../contract/common.ts';
import type { ExportEntry, ExportSubjectKind } from '../contract/exports.ts';
import { equalTo, readPage } from './page.ts';
import type { Store } from './store.ts';

const columns = `e.id, e.format, e.subjectKind, e.subjectId, e.fileName, e.mediaType, e.sha256, e.bytes, e.createdAt,
  e.createdBy`;

/** Stores what was handed out and returns its identifier; inside a transaction. */
export async function insertExport(
  store: Store,
  entry: Omit<ExportEntry, 'id' | 'bytes'>,
  data: Uint8Array,
): Promise<number> {
  return (
    await store.run(
      `INSERT INTO Export (format, subjectKind, subjectId, fileName, mediaType, sha256, bytes, data, createdAt, createdBy)
     VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      entry.format,
      entry.subjectKind,
      entry.subjectId,
      entry.fileName,
      entry.mediaType,
      entry.sha256,
      data.length,
      data,
      entry.createdAt,
      entry.createdBy,
    )
  ).id;
}

export async function findExport(store: Store, id: number): Promise<ExportEntry | null> {
  return (await store.get<ExportEntry>(`SELECT ${columns} FROM Export e WHERE e.id = ?`, id)) ?? null;
}

/** The bytes that were handed out. */
export async function readExportData(store: Store, id: number): Promise<Buffer | null> {
  return (await store.get<{ data: Buffer }>('SELECT data FROM Export WHERE id = ?', id))?.data ?? null;
}

/** A page of the exports, newest first. */
export async function pageExports(
  store: Store,
  query: { cursor?: string; limit: number; subjectKind?: ExportSubjectKind; subjectId?: number },
): Promise<Page<ExportEntry>> {
  return readPage<ExportEntry, ExportEntry>(
    store,
    {
      select: columns,
      from: 'Export e',
      ...equalTo({ 'e.subjectKind': query.subjectKind, 'e.subjectId': query.subjectId }),
      idColumn: 'e.id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => row,
  );
}
