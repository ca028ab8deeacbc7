import type { ImportReport } from '../../contract/import.ts';
import { inOrder } from '../../inOrder.ts';
import { insertAudit } from '../../store/audit.ts';
import { addToNote, findCellIds, insertCells } from '../../store/cells.ts';
import { insertMeasurements } from '../../store/measurements.ts';
import { findTakenFile, insertSourceFile, setReport } from '../../store/sourceFiles.ts';
import { insertStackLog } from '../../store/stackLogs.ts';
import { sealRecord } from '../../store/stagedRecords.ts';
import type { Store } from '../../store/store.ts';
import { insertSweeps } from '../../store/sweeps.ts';
import { insertSteps, insertTest, setEvaluatedWith } from '../../store/tests.ts';
import { recountStatesOfFile } from '../parameters/recountStates.ts';
import type { TakenFile } from './takenFile.ts';

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

/** What else is stored together with a file's report: that the job which imports it has it. */
export type NoteReport = (tx: Store, report: ImportReport) => Promise<void>;

/**
 * Takes a file: source file, cells, tests, sealed records, steps, measurements and the audit entry in one transaction.
 *
 * @returns the report with the identifiers filled in, as it is stored
 * @throws TakenBefore where the same bytes are there already
 */
export async function takeFile(store: Store, file: TakenFile, note: NoteReport): Promise<ImportReport> {
  return store.transaction(async (tx) => {
    const before = await findTakenFile(tx, file.sha256);
    if (before !== null && !file.again) throw new TakenBefore(before);
    const takenSha256 = before === null ? file.sha256 : null;
    const sourceFileId = await insertSourceFile(tx, { ...file, state: 'taken', takenSha256 });
    const { cellIds, cellsCreated } = await findOrInsertCells(tx, file, sourceFileId);
    for (const [serial, text] of file.notes) {
      const cellId = cellIds.get(serial);
      if (cellId !== undefined) await addToNote(tx, cellId, text);
    }
    const testIds = await insertTests(tx, file, cellIds, sourceFileId);
    const stackLogId = await takeStackLog(tx, file, sourceFileId);
    await insertMeasurements(
      tx,
      file.measurements.map(({ serial, testIndex, ...rest }) => ({
        ...rest,
        testId: testIndex === undefined ? rest.testId : testIds[testIndex],
        cellId: cellIds.get(serial)!,
        sourceFileId,
      })),
      file.at,
    );
    await recountStatesOfFile(tx, sourceFileId);
    const report: ImportReport = {
      ...file.report,
      sourceFileId,
      cells: [...cellIds.keys(), ...(file.stackLog?.serials ?? [])],
      stackLogId,
      cellsCreated,
      measurementsCreated: file.measurements.length,
      runs: file.report.runs.map((run, i) => ({ ...run, testId: testIds[i] ?? null })),
    };
    await setReport(tx, sourceFileId, report);
    await insertAudit(tx, {
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
    await note(tx, report);
    return report;
  });
}

async function findOrInsertCells(
  tx: Store,
  file: TakenFile,
  sourceFileId: number,
): Promise<{ cellIds: Map<string, number>; cellsCreated: number }> {
  const named = (file.serials ?? []).map((serial) => ({ serial }));
  const serials = new Set([...named, ...file.tests, ...file.measurements].map(({ serial }) => serial));
  const known = await findCellIds(tx, file.lotId, [...serials]);
  const missing = [...serials].filter((serial) => !known.has(serial));
  await insertCells(
    tx,
    missing.map((serial) => ({
      lotId: file.lotId,
      serial,
      note: '',
      createdAt: file.at,
      sourceFileId,
    })),
  );
  const made = await findCellIds(tx, file.lotId, missing);
  // In the order of the file, in which the report lists them.
  const cellIds = new Map([...serials].map((serial) => [serial, (known.get(serial) ?? made.get(serial))!]));
  return { cellIds, cellsCreated: missing.length };
}

async function insertTests(
  tx: Store,
  file: TakenFile,
  cellIds: ReadonlyMap<string, number>,
  sourceFileId: number,
): Promise<number[]> {
  const ids = await inOrder(file.tests, async (test) => {
    const cellId = cellIds.get(test.serial)!;
    const testId = await insertTest(tx, { ...test, cellId, sourceFileId, createdAt: file.at });
    if (test.record !== null) await sealRecord(tx, test.record, { testId }, file.columns);
    await insertSteps(tx, testId, null, test.steps);
    await insertSweeps(tx, testId, test.sweeps ?? []);
    return testId;
  });
  for (const serial of new Set(file.tests.map((test) => test.serial))) {
    const together = ids.filter((_, i) => file.tests[i].serial === serial && file.tests[i].together === true);
    if (together.length > 1) await setEvaluatedWith(tx, together, together[0]);
  }
  return ids;
}

async function takeStackLog(tx: Store, file: TakenFile, sourceFileId: number): Promise<number | null> {
  const { stackLog } = file;
  if (stackLog == null) return null;
  const id = await insertStackLog(tx, stackLog, sourceFileId, file.at);
  await sealRecord(tx, stackLog.record, { stackLogId: id }, file.columns);
  await insertAudit(tx, {
    at: file.at,
    actor: file.by,
    action: 'stack-log.taken',
    subjectKind: 'stack',
    subjectId: stackLog.stackId,
    detail: { stackLogId: id, file: file.name },
  });
  return id;
}

/** Keeps the report of a file that was refused. @returns the report with its identifier */
export async function keepRefusal(
  store: Store,
  file: {
    readonly name: string;
    readonly bytes: number;
    readonly lotId: number | null;
    readonly at: string;
    readonly by: string;
    readonly batch: string;
    readonly report: ImportReport;
  },
  note: NoteReport,
): Promise<ImportReport> {
  return store.transaction(async (tx) => {
    const id = await insertSourceFile(tx, {
      ...file,
      sha256: file.report.sha256 ?? '',
      takenSha256: null,
      kind: file.report.kind ?? 'record',
      state: 'refused',
      rowCount: 0,
    });
    const report = { ...file.report, sourceFileId: id };
    await setReport(tx, id, report);
    await insertAudit(tx, {
      at: file.at,
      actor: file.by,
      action: 'file.refused',
      subjectKind: 'source-file',
      subjectId: id,
      detail: { name: file.name, code: report.refusal?.code ?? '' },
    });
    await note(tx, report);
    return report;
  });
}
