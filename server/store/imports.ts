import type { Page } from '../contract/common.ts';
import type { ImportReport } from '../contract/import.ts';
import { insertAudit } from './audit.ts';
import { equalTo, readPage } from './page.ts';
import type { SqlStore, Store } from './store.ts';

/** A file that was offered, with its report. */
export interface StoredImport extends ImportReport {
  readonly batch: string | null;
  readonly importedAt: string;
  readonly importedBy: string;
}

interface ImportRow {
  readonly id: number;
  readonly state: ImportReport['state'];
  readonly reportJson: string;
  readonly batch: string | null;
  readonly importedAt: string;
  readonly importedBy: string;
}

function present(row: ImportRow): StoredImport {
  const { id, state, reportJson, ...rest } = row;
  return { ...(JSON.parse(reportJson) as ImportReport), sourceFileId: id, state, ...rest };
}

const columns = 'id, state, reportJson, batch, importedAt, importedBy';

/** A page of the files that were offered, newest first. */
export async function pageImports(
  store: Store,
  query: { cursor?: string; limit: number; lotId?: number; state?: string; batch?: string },
): Promise<Page<StoredImport>> {
  const { lotId, state, batch } = query;
  return readPage<ImportRow, StoredImport>(
    store,
    {
      select: columns,
      from: 'SourceFile',
      ...equalTo({ lotId, state, batch }),
      idColumn: 'id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => present(row),
  );
}

export async function findImport(store: SqlStore, id: number): Promise<StoredImport | null> {
  const row = await store.get<ImportRow>(`SELECT ${columns} FROM SourceFile WHERE id = ?`, id);
  return row === undefined ? null : present(row);
}

/** What else rests on a cell, so that undoing the import that brought it must leave it. */
const cellIsUsed = `EXISTS (SELECT 1 FROM Test x WHERE x.cellId = c.id AND x.sourceFileId IS NOT c.sourceFileId)
  OR EXISTS (SELECT 1 FROM Measurement m WHERE m.cellId = c.id AND m.sourceFileId IS NOT c.sourceFileId
     AND (m.testId IS NULL OR m.testId NOT IN (SELECT id FROM Test WHERE sourceFileId = c.sourceFileId)))
  OR EXISTS (SELECT 1 FROM Pair p WHERE c.id IN (p.cellAId, p.cellBId))
  OR EXISTS (SELECT 1 FROM StackCell s WHERE s.cellId = c.id)
  OR EXISTS (SELECT 1 FROM Attachment a WHERE a.cellId = c.id)
  OR EXISTS (SELECT 1 FROM ChargeStudy t WHERE t.cellId = c.id)
  OR EXISTS (SELECT 1 FROM ChargeStudy t, json_each(t.inputsJson, '$.cellIds') i WHERE i.value = c.id)
  OR EXISTS (SELECT 1 FROM Export e WHERE (e.subjectKind = 'cell' AND e.subjectId = c.id)
     OR (e.subjectKind = 'lot' AND e.subjectId = c.lotId)
     OR (e.subjectKind = 'cell-type' AND e.subjectId = (SELECT cellTypeId FROM Lot WHERE id = c.lotId))
     OR (e.subjectKind = 'test' AND e.subjectId IN (SELECT id FROM Test WHERE cellId = c.id)))`;

/**
 * Takes an import back in one transaction. Its results are superseded and its tests set to `undone`, so that what was
 * made from them can still be traced; cells that it brought and on which nothing else rests are removed with their
 * tests. The same bytes can be taken again afterwards.
 *
 * @returns false where the file is not (any longer) taken
 */
export async function undoImport(
  store: SqlStore,
  fileId: number,
  at: string,
  actor: string,
): Promise<boolean> {
  return store.transaction(async (store) => {
    const changed = await store.run(
      `UPDATE SourceFile SET state = 'undone', takenSha256 = NULL WHERE id = ? AND state = 'taken'`,
      fileId,
    );
    if (changed.changes !== 1) return false;
    const cells = await store.all<{ id: number }>(
      `SELECT c.id FROM Cell c WHERE c.sourceFileId = ? AND NOT (${cellIsUsed})`,
      fileId,
    );
    for (const { id } of cells) {
      await store.run('DELETE FROM Test WHERE cellId = ? AND sourceFileId = ?', id, fileId);
      await store.run('DELETE FROM Cell WHERE id = ?', id);
    }
    const testsOfFile = 'SELECT id FROM Test WHERE sourceFileId = ?';
    await store.run(
      `UPDATE Measurement SET supersededAt = ? WHERE supersededAt IS NULL
       AND (sourceFileId = ? OR testId IN (${testsOfFile}))`,
      at,
      fileId,
      fileId,
    );
    await store.run(
      `UPDATE Fit SET supersededAt = ? WHERE supersededAt IS NULL AND testId IN (${testsOfFile})`,
      at,
      fileId,
    );
    await store.run(`UPDATE Test SET state = 'undone' WHERE sourceFileId = ?`, fileId);
    await insertAudit(store, {
      at,
      actor,
      action: 'file.undone',
      subjectKind: 'source-file',
      subjectId: fileId,
      detail: { cellsRemoved: cells.length },
    });
    return true;
  });
}
