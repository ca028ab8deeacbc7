import { sql } from 'kysely';
import type { Page } from '../contract/common.ts';
import { type ImportHead, type ImportReport, importHead, importReport } from '../contract/import.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

type State = ImportReport['state'];

/** A source file: one that was offered to an import, and was taken, refused or undone. */
export interface StoredSourceFile {
  readonly id: number;
  readonly name: string;
  readonly sha256: string;
  readonly state: State;
  readonly importedAt: string;
  readonly importedBy: string;
  readonly batch: string | null;
}

/** A source file with the report of its import. */
export interface StoredImport extends ImportReport {
  readonly batch: string | null;
  readonly importedAt: string;
  readonly importedBy: string;
}

interface ImportRow {
  readonly id: number;
  readonly state: State;
  readonly reportJson: string;
  readonly batch: string | null;
  readonly importedAt: string;
  readonly importedBy: string;
}

function present({ id, state, reportJson, ...rest }: ImportRow): StoredImport {
  const report = parseStored(importReport, reportJson, `report of import ${id}`);
  return { ...report, sourceFileId: id, state, ...rest };
}

const columns = ['id', 'state', 'reportJson', 'batch', 'importedAt', 'importedBy'] as const;

/** A source file with what a list shows of its report. */
export interface ListedImport extends ImportHead {
  readonly sourceFileId: number;
  readonly state: State;
  readonly batch: string | null;
  readonly importedAt: string;
  readonly importedBy: string;
}

function headOf(report: ImportReport): ImportHead {
  return importHead.parse({
    ...report,
    cellCount: report.cells.length,
    testCount: report.runs.filter(({ testId }) => testId !== null).length,
    warningCount: report.warnings.length,
  });
}

interface HeadRow extends Omit<ImportRow, 'reportJson'> {
  readonly headJson: string | null;
  /** Only where there is no head yet. */
  readonly reportJson: string | null;
}

function presentHead({ id, headJson, reportJson, ...rest }: HeadRow): ListedImport {
  const head =
    headJson === null
      ? headOf(parseStored(importReport, reportJson ?? '', `report of import ${id}`))
      : parseStored(importHead, headJson, `head of import ${id}`);
  return { ...head, sourceFileId: id, ...rest };
}

/** A page of the files that were offered, newest first. */
export async function pageImports(
  store: Store,
  query: { cursor?: string; limit: number; lotId?: number; state?: State; batch?: string },
): Promise<Page<ListedImport>> {
  const { lotId, state, batch, cursor, limit } = query;
  return readPage<HeadRow, ListedImport>(store, {
    matching: matchingIds(store.db.selectFrom('SourceFile').select('id'), { lotId, state, batch }),
    rows: (ids) =>
      store.db
        .selectFrom('SourceFile')
        .select(['id', 'state', 'headJson', 'batch', 'importedAt', 'importedBy'])
        .select(sql<string | null>`case when "headJson" is null then "reportJson" end`.as('reportJson'))
        .where('id', 'in', ids)
        .execute(),
    present: presentHead,
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}

export async function findImport(store: Store, id: number): Promise<StoredImport | null> {
  const row = await store.db.selectFrom('SourceFile').select(columns).where('id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(row);
}

export async function findSourceFile(store: Store, id: number): Promise<StoredSourceFile | null> {
  const row = await sourceFiles(store).where('id', '=', id).executeTakeFirst();
  return row ?? null;
}

/** The taken file with these bytes, or null. */
export async function findTakenFile(store: Store, sha256: string): Promise<StoredSourceFile | null> {
  const row = await sourceFiles(store).where('takenSha256', '=', sha256).executeTakeFirst();
  return row ?? null;
}

function sourceFiles(store: Store) {
  return store.db
    .selectFrom('SourceFile')
    .select(['id', 'name', 'sha256', 'state', 'importedAt', 'importedBy', 'batch']);
}

/** Whether a file of this length was taken, so that hashing an offered one is worth while. */
export async function hasTakenFileOfLength(store: Store, bytes: number): Promise<boolean> {
  const row = await store.db
    .selectFrom('SourceFile')
    .select('id')
    .where('takenSha256', 'is not', null)
    .where('bytes', '=', bytes)
    .executeTakeFirst();
  return row !== undefined;
}

/** What is stored of a file that was offered; its report follows with {@link setReport}. */
export interface NewSourceFile {
  readonly name: string;
  readonly sha256: string;
  readonly takenSha256: string | null;
  readonly bytes: number;
  readonly kind: string;
  readonly state: State;
  readonly lotId: number | null;
  readonly rowCount: number;
  readonly at: string;
  readonly by: string;
  readonly batch: string;
  readonly report: ImportReport;
}

export async function insertSourceFile(store: Store, file: NewSourceFile): Promise<number> {
  const { id } = await store.db
    .insertInto('SourceFile')
    .values({
      name: file.name,
      sha256: file.sha256,
      takenSha256: file.takenSha256,
      bytes: file.bytes,
      kind: file.kind,
      state: file.state,
      lotId: file.lotId,
      rowCount: file.rowCount,
      importedAt: file.at,
      importedBy: file.by,
      mappingJson: JSON.stringify({ dialect: file.report.dialect, columns: file.report.mapping }),
      batch: file.batch,
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

export async function setReport(store: Store, id: number, report: ImportReport): Promise<void> {
  await store.db
    .updateTable('SourceFile')
    .set({ reportJson: JSON.stringify(report), headJson: JSON.stringify(headOf(report)) })
    .where('id', '=', id)
    .execute();
}

/** Notes the hash by which the same bytes are known again; null where they are taken once more for another cell. */
export async function setTakenSha256(store: Store, id: number, takenSha256: string | null): Promise<void> {
  await store.db.updateTable('SourceFile').set({ takenSha256 }).where('id', '=', id).execute();
}

/** Marks a taken file as undone, so that the same bytes can be taken again; false where it is not taken. */
export async function markUndone(store: Store, id: number): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('SourceFile')
    .set({ state: 'undone', takenSha256: null })
    .where('id', '=', id)
    .where('state', '=', 'taken')
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}

/** The rows of its file that the spectrum of a test which begins there came from; null where none does. */
export async function findSweepRows(
  store: Store,
  testId: number,
  firstRow: number,
): Promise<{ first: number; last: number } | null> {
  const row = await store.db
    .selectFrom('Sweep')
    .select(['sourceRowFirst as first', 'sourceRowLast as last'])
    .where('testId', '=', testId)
    .where('sourceRowFirst', '=', firstRow)
    .executeTakeFirst();
  return row ?? null;
}

/** The rows of its file that a test came from. */
export async function findTestRows(
  store: Store,
  testId: number,
): Promise<{ first: number | null; last: number | null } | null> {
  const row = await store.db
    .selectFrom('Test')
    .select(['sourceRowFirst as first', 'sourceRowLast as last'])
    .where('id', '=', testId)
    .executeTakeFirst();
  return row ?? null;
}
