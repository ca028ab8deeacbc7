import { setTimeout as delay } from 'node:timers/promises';
import type { ImportReport } from '../../contract/import.ts';
import { inOrder } from '../../inOrder.ts';
import { insertAudit } from '../../store/audit.ts';
import { addToNote, findCellIds, insertCells } from '../../store/cells.ts';
import { hasIncoming, sweepIncomingFiles } from '../../store/incomingFiles.ts';
import { insertMeasurements, type NewMeasurement } from '../../store/measurements.ts';
import { findTakenFile, insertSourceFile, setReport } from '../../store/sourceFiles.ts';
import { insertStackLog } from '../../store/stackLogs.ts';
import { sealRecord } from '../../store/stagedRecords.ts';
import type { Store } from '../../store/store.ts';
import { insertSweeps } from '../../store/sweeps.ts';
import { insertSteps, insertTest, setEvaluatedWith } from '../../store/tests.ts';
import { recountStatesOfFile } from '../parameters/recountStates.ts';
import type { TakenFile, TakenMeasurement } from './takenFile.ts';

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

const waitMs = 50;

/**
 * Does what brings cells into a lot as soon as no other file is being stored into it in pieces: a cell of that file is not
 * seen yet, but its serial is given.
 *
 * @param work null where a file of the lot is being stored
 * @param onWait called while it waits; may throw to stop
 */
export async function untilFree<T>(
  store: Store,
  lotId: number,
  onWait: () => void,
  work: () => Promise<T | null>,
): Promise<T> {
  for (;;) {
    const done = await work();
    if (done !== null) return done;
    while (await hasIncoming(store, lotId)) {
      onWait();
      await delay(waitMs);
      await sweepIncomingFiles(store, 'none');
    }
  }
}

/**
 * Takes a file: source file, cells, tests, sealed records, steps, measurements and the audit entry in one transaction.
 *
 * @param onWait called while another file is being stored into the lot; may throw to stop
 * @returns the report with the identifiers filled in, as it is stored
 * @throws TakenBefore where the same bytes are there already
 */
export async function takeFile(
  store: Store,
  file: TakenFile,
  note: NoteReport,
  onWait: () => void = () => {},
): Promise<ImportReport> {
  return untilFree(store, file.lotId, onWait, () =>
    store.transaction(async (tx) => {
      const takenSha256 = await shaToTake(tx, file);
      const known = await findCellIds(tx, file.lotId, serialsOf(file));
      if (known.size < serialsOf(file).length && (await hasIncoming(tx, file.lotId))) return null;
      const sourceFileId = await insertSourceFile(tx, { ...file, state: 'taken', takenSha256 });
      const { cellIds, cellsCreated } = await findOrInsertCells(tx, file, known, sourceFileId);
      for (const [serial, text] of file.notes) {
        const cellId = cellIds.get(serial);
        if (cellId !== undefined) await addToNote(tx, cellId, text);
      }
      const testIds = await insertTests(tx, file, cellIds, sourceFileId);
      const stackLogId = await takeStackLog(tx, file, sourceFileId);
      await insertMeasurements(
        tx,
        file.measurements.map((one) => ofCell(one, cellIds, sourceFileId, testIds)),
        file.at,
      );
      await recountStatesOfFile(tx, sourceFileId);
      return noteTaken(tx, file, { sourceFileId, cellIds, cellsCreated, testIds, stackLogId }, note);
    }),
  );
}

/** The hash by which the file is known from now on; null where it is taken again. @throws TakenBefore */
export async function shaToTake(tx: Store, file: TakenFile): Promise<string | null> {
  const before = await findTakenFile(tx, file.sha256);
  if (before !== null && !file.again) throw new TakenBefore(before);
  return before === null ? file.sha256 : null;
}

/** A measurement of a file as it is stored. */
export function ofCell(
  measurement: TakenMeasurement,
  cellIds: ReadonlyMap<string, number>,
  sourceFileId: number,
  testIds: readonly number[] = [],
): NewMeasurement {
  const { serial, testIndex, ...rest } = measurement;
  return {
    ...rest,
    testId: testIndex === undefined ? rest.testId : testIds[testIndex],
    cellId: cellIds.get(serial)!,
    sourceFileId,
  };
}

/** Stores the report of a file that is taken, with its audit entry. @returns the report with the identifiers filled in */
export async function noteTaken(
  tx: Store,
  file: TakenFile,
  taken: {
    readonly sourceFileId: number;
    readonly cellIds: ReadonlyMap<string, number>;
    readonly cellsCreated: number;
    readonly testIds?: readonly number[];
    readonly stackLogId?: number | null;
  },
  note: NoteReport,
): Promise<ImportReport> {
  const { sourceFileId, cellIds, cellsCreated, testIds = [], stackLogId = null } = taken;
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
}

/** The serials of all cells of a file, in its order. */
export function serialsOf(file: TakenFile): string[] {
  const serials = new Set(file.serials);
  for (const { serial } of file.tests) serials.add(serial);
  for (const { serial } of file.measurements) serials.add(serial);
  return [...serials];
}

async function findOrInsertCells(
  tx: Store,
  file: TakenFile,
  known: ReadonlyMap<string, number>,
  sourceFileId: number,
): Promise<{ cellIds: Map<string, number>; cellsCreated: number }> {
  const serials = serialsOf(file);
  const missing = serials.filter((serial) => !known.has(serial));
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
  const cellIds = new Map(serials.map((serial) => [serial, (known.get(serial) ?? made.get(serial))!]));
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
