import type { ImportReport } from '../contract/import.ts';
import type { TestKind, TestStep } from '../contract/tests.ts';
import { insertAudit } from './audit.ts';
import { addToNote, findCellBySerial, insertCell } from './cells.ts';
import type { NewMeasurement } from './measurements.ts';
import { insertMeasurements } from './measurements.ts';
import type { StoredColumn } from './records.ts';
import { findTakenFile } from './sourceFiles.ts';
import type { StagedRecord } from './stagedRecords.ts';
import { sealRecord } from './stagedRecords.ts';
import type { SqlStore } from './store.ts';
import { insertSweeps, type NewSweep } from './sweeps.ts';
import { insertSteps } from './tests.ts';

/** A test that a file brings. */
export interface TakenTest {
  readonly serial: string;
  readonly kind: TestKind;
  readonly label: string;
  readonly startedAt: string | null;
  readonly temperatureC: number | null;
  /** State of charge at the first row, 0…1, where it was stated. */
  readonly startSoc?: number | null;
  readonly cycle: number | null;
  readonly firstRow: number;
  readonly lastRow: number;
  readonly record: StagedRecord | null;
  readonly steps: readonly TestStep[];
  /** Impedance spectra; left out where the file brings none. */
  readonly sweeps?: readonly NewSweep[];
}

/** A measurement that a file brings, of the cell with this serial. */
export interface TakenMeasurement extends Omit<NewMeasurement, 'cellId' | 'sourceFileId'> {
  readonly serial: string;
  /** Place of the test of this file that it comes from; left out where it comes from none. */
  readonly testIndex?: number;
}

/** Everything that taking one file puts into the database. */
export interface TakenFile {
  readonly name: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly kind: string;
  readonly lotId: number;
  readonly rowCount: number;
  readonly at: string;
  readonly by: string;
  readonly batch: string;
  readonly columns: readonly StoredColumn[];
  readonly tests: readonly TakenTest[];
  readonly measurements: readonly TakenMeasurement[];
  /** Cells that the file names, also those of which it has no value; left out where tests and measurements name all. */
  readonly serials?: readonly string[];
  /** What the file says of cells in words, by serial; added to the cells' notes. */
  readonly notes: ReadonlyMap<string, string>;
  readonly report: ImportReport;
}

/** The same bytes were taken before. */
export class TakenBefore extends Error {
  readonly fileId: number;
  readonly fileName: string;
  readonly importedAt: string;

  constructor(file: { id: number; name: string; importedAt: string }) {
    super(`The same bytes were taken as ${file.name} on ${file.importedAt}`);
    this.name = 'TakenBefore';
    this.fileId = file.id;
    this.fileName = file.name;
    this.importedAt = file.importedAt;
  }
}

/**
 * Takes a file: source file, cells, tests, sealed records, steps, measurements and the audit entry in one transaction.
 *
 * @returns the report with the identifiers filled in, as it is stored
 * @throws TakenBefore where the same bytes are there already
 */
export function takeFile(store: SqlStore, file: TakenFile): ImportReport {
  return store.transaction(() => {
    const before = findTakenFile(store, file.sha256);
    if (before !== null) throw new TakenBefore(before);
    const sourceFileId = insertSourceFile(store, { ...file, state: 'taken', takenSha256: file.sha256 });
    const cellIds = new Map<string, number>();
    let cellsCreated = 0;
    const named = (file.serials ?? []).map((serial) => ({ serial }));
    for (const { serial } of [...named, ...file.tests, ...file.measurements]) {
      if (cellIds.has(serial)) continue;
      const known = findCellBySerial(store, file.lotId, serial);
      if (known === null) cellsCreated++;
      cellIds.set(
        serial,
        known?.id ??
          insertCell(store, { lotId: file.lotId, serial, note: '', createdAt: file.at, sourceFileId }),
      );
    }
    for (const [serial, note] of file.notes) {
      const cellId = cellIds.get(serial);
      if (cellId !== undefined) addToNote(store, cellId, note);
    }
    const testIds = file.tests.map((test) =>
      insertTest(store, file, test, cellIds.get(test.serial)!, sourceFileId),
    );
    insertMeasurements(
      store,
      file.measurements.map(({ serial, testIndex, ...rest }) => ({
        ...rest,
        testId: testIndex === undefined ? rest.testId : testIds[testIndex],
        cellId: cellIds.get(serial)!,
        sourceFileId,
      })),
      file.at,
    );
    const report: ImportReport = {
      ...file.report,
      sourceFileId,
      cells: [...cellIds.keys()],
      cellsCreated,
      measurementsCreated: file.measurements.length,
      runs: file.report.runs.map((run, i) => ({ ...run, testId: testIds[i] ?? null })),
    };
    store.run('UPDATE SourceFile SET reportJson = ? WHERE id = ?', JSON.stringify(report), sourceFileId);
    insertAudit(store, {
      at: file.at,
      actor: file.by,
      action: 'file.taken',
      subjectKind: 'source-file',
      subjectId: sourceFileId,
      detail: {
        name: file.name,
        tests: file.tests.length,
        measurements: file.measurements.length,
        cellsCreated,
      },
    });
    return report;
  });
}

/** Keeps the report of a file that was refused. */
export function keepRefusal(
  store: SqlStore,
  file: {
    name: string;
    bytes: number;
    lotId: number | null;
    at: string;
    by: string;
    batch: string;
    report: ImportReport;
  },
): number {
  return store.transaction(() => {
    const id = insertSourceFile(store, {
      ...file,
      sha256: file.report.sha256 ?? '',
      takenSha256: null,
      kind: file.report.kind ?? 'record',
      state: 'refused',
      rowCount: 0,
    });
    store.run(
      'UPDATE SourceFile SET reportJson = ? WHERE id = ?',
      JSON.stringify({ ...file.report, sourceFileId: id }),
      id,
    );
    insertAudit(store, {
      at: file.at,
      actor: file.by,
      action: 'file.refused',
      subjectKind: 'source-file',
      subjectId: id,
      detail: { name: file.name, code: file.report.refusal?.code ?? '' },
    });
    return id;
  });
}

function insertSourceFile(
  store: SqlStore,
  file: Pick<
    TakenFile,
    'name' | 'sha256' | 'bytes' | 'kind' | 'rowCount' | 'at' | 'by' | 'batch' | 'report'
  > & {
    state: string;
    takenSha256: string | null;
    lotId: number | null;
  },
): number {
  return store.run(
    `INSERT INTO SourceFile (name, sha256, takenSha256, bytes, kind, state, lotId, rowCount, importedAt, importedBy,
       mappingJson, reportJson, batch) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '{}', ?)`,
    file.name,
    file.sha256,
    file.takenSha256,
    file.bytes,
    file.kind,
    file.state,
    file.lotId,
    file.rowCount,
    file.at,
    file.by,
    JSON.stringify({ dialect: file.report.dialect, columns: file.report.mapping }),
    file.batch,
  ).id;
}

function insertTest(
  store: SqlStore,
  file: TakenFile,
  test: TakenTest,
  cellId: number,
  sourceFileId: number,
): number {
  const testId = store.run(
    `INSERT INTO Test (cellId, kind, state, label, startedAt, temperatureC, startSoc, cycle, sourceFileId, sourceRowFirst,
       sourceRowLast, createdAt) VALUES (?, ?, 'sealed', ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    cellId,
    test.kind,
    test.label,
    test.startedAt,
    test.temperatureC,
    test.startSoc ?? null,
    test.cycle,
    sourceFileId,
    test.firstRow,
    test.lastRow,
    file.at,
  ).id;
  if (test.record !== null) sealRecord(store, test.record, testId, file.columns);
  insertSteps(store, testId, null, test.steps);
  insertSweeps(store, testId, test.sweeps ?? []);
  return testId;
}
