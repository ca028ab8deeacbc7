import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportReport } from '../../server/contract/import.ts';
import { inOrder } from '../../server/inOrder.ts';
import { insertExport } from '../../server/store/exports.ts';
import { readImportConsequences } from '../../server/use-cases/imports/readImportConsequences.ts';
import { restoreImport } from '../../server/use-cases/imports/restoreImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { makeLot } from '../support/basics.ts';
import { runSql, selectAll, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const at = '2026-02-01T08:00:00.000Z';
const report: ImportReport = {
  sourceFileId: null,
  fileName: 'x.csv',
  state: 'taken',
  kind: 'record',
  sha256: null,
  bytes: 1,
  rowCount: 0,
  dialect: null,
  mapping: [],
  unusedColumns: [],
  preamble: [],
  cellReports: [],
  runs: [],
  cells: [],
  cellsCreated: 0,
  measurementsCreated: 0,
  stackLogId: null,
  warnings: [],
  refusal: null,
};

describe('an import that is taken back', () => {
  let test: TestApp;
  let lotId: number;
  beforeAll(async () => {
    test = await openTestApp();
    lotId = (await makeLot(test.context)).lot.id;
  });
  afterAll(async () => test.close());

  /** A file with one cell and one test, as an import leaves them. */
  const take = async (serial: string) => {
    const { store } = test.context;
    const fileId = (
      await runSql(
        store,
        `INSERT INTO SourceFile (name, sha256, takenSha256, bytes, kind, state, lotId, importedAt, importedBy, reportJson)
       VALUES (?, ?, ?, 1, 'record', 'taken', ?, ?, 'local', ?)`,
        `${serial}.csv`,
        serial,
        serial,
        lotId,
        at,
        JSON.stringify(report),
      )
    ).id;
    const cellId = (
      await runSql(
        store,
        'INSERT INTO Cell (lotId, serial, createdAt, sourceFileId) VALUES (?, ?, ?, ?)',
        lotId,
        serial,
        at,
        fileId,
      )
    ).id;
    const testId = (
      await runSql(
        store,
        `INSERT INTO Test (cellId, kind, state, sourceFileId, createdAt) VALUES (?, 'capacity', 'sealed', ?, ?)`,
        cellId,
        fileId,
        at,
      )
    ).id;
    return { fileId, cellId, testId };
  };
  const handOut = async (subjectKind: 'cell' | 'test' | 'lot', subjectId: number, createdAt = at) =>
    insertExport(
      test.context.store,
      {
        format: subjectKind === 'test' ? 'record-csv' : 'parameters-json',
        subjectKind,
        subjectId,
        fileName: 'x',
        mediaType: 'text/plain',
        sha256: '00',
        createdAt,
        createdBy: 'local',
      },
      Buffer.from('x'),
    );
  const serials = async () =>
    (await selectAll<{ serial: string }>(test.context.store, 'SELECT serial FROM Cell ORDER BY serial')).map(
      ({ serial }) => serial,
    );

  it('says first what it touches, and can be taken back for a day where no cell went with it', async () => {
    const [kept, gone] = await inOrder(['kept', 'gone'], take);
    await handOut('cell', kept.cellId);
    expect(await readImportConsequences(test.context, kept.fileId)).toMatchObject({
      tests: 1,
      cellsRemoved: [],
      cellsKept: ['kept'],
      exports: 1,
    });
    expect(await readImportConsequences(test.context, gone.fileId)).toMatchObject({
      cellsRemoved: ['gone'],
      cellsKept: [],
      exports: 0,
    });
    for (const { fileId } of [kept, gone]) await undoImport(test.context, fileId);
    expect(await restoreImport(test.context, kept.fileId)).toMatchObject({ state: 'taken' });
    expect(
      await selectOne<{ state: string }>(
        test.context.store,
        'SELECT state FROM Test WHERE id = ?',
        kept.testId,
      ),
    ).toEqual({ state: 'sealed' });
    await expect(restoreImport(test.context, kept.fileId)).rejects.toThrow('it is taken');
    await expect(restoreImport(test.context, gone.fileId)).rejects.toThrow('its cells were removed');
    await undoImport(test.context, kept.fileId);
    const later = { ...test.context, now: () => new Date(test.context.now().getTime() + 25 * 3_600_000) };
    await expect(restoreImport(later, kept.fileId)).rejects.toThrow('undone at');
    await runSql(test.context.store, 'DELETE FROM Export');
    await runSql(test.context.store, 'DELETE FROM Test');
    await runSql(test.context.store, 'DELETE FROM Cell');
  });

  it('leaves what was handed out traceable: such a cell and its tests stay, others go', async () => {
    const [unused, exported, recorded] = await inOrder(['unused', 'exported', 'recorded'], take);
    await handOut('cell', exported.cellId);
    await handOut('test', recorded.testId);
    for (const { fileId } of [unused, exported, recorded])
      expect(await undoImport(test.context, fileId)).toMatchObject({ state: 'undone' });
    expect(await serials()).toEqual(['exported', 'recorded']);
    expect(
      (await selectAll<{ state: string }>(test.context.store, 'SELECT state FROM Test ORDER BY id')).map(
        (row) => row.state,
      ),
    ).toEqual(['undone', 'undone']);
  });

  it('removes a cell that came after the last export of its lot, and keeps one that was in it', async () => {
    const [before, after] = await inOrder(['before', 'after'], take);
    const [early, late] = ['2026-01-01T00:00:00.000Z', '2026-01-02T00:00:00.000Z'];
    await runSql(test.context.store, 'UPDATE Cell SET createdAt = ? WHERE id = ?', early, before.cellId);
    await runSql(test.context.store, 'UPDATE Cell SET createdAt = ? WHERE id = ?', late, after.cellId);
    await handOut('lot', lotId, '2026-01-01T12:00:00.000Z');
    for (const { fileId, cellsKept } of [
      { ...before, cellsKept: ['before'] },
      { ...after, cellsKept: [] },
    ]) {
      expect(await readImportConsequences(test.context, fileId)).toMatchObject({ cellsKept });
      await undoImport(test.context, fileId);
    }
    expect(await serials()).toContain('before');
    expect(await serials()).not.toContain('after');
    await runSql(test.context.store, "DELETE FROM Export WHERE subjectKind = 'lot'");
  });

  it('leaves the cells of a charge study of several cells', async () => {
    const { fileId, cellId } = await take('studied');
    await runSql(
      test.context.store,
      `INSERT INTO ChargeStudy (name, descriptionJson, algorithm, algorithmVersion, inputsJson, state, createdAt, createdBy)
       VALUES ('s', '{}', 'a', '1', ?, 'waiting', ?, 'local')`,
      JSON.stringify({ cellIds: [cellId, 999] }),
      at,
    );
    await undoImport(test.context, fileId);
    expect(await serials()).toContain('studied');
  });
});
