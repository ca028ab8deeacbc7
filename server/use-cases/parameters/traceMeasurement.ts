import type { Context } from '../../context.ts';
import type { Provenance } from '../../contract/measurements.ts';
import type { Test } from '../../contract/tests.ts';
import { notFound } from '../../errors.ts';
import { findCell } from '../../store/cells.ts';
import { findFit } from '../../store/fits.ts';
import { findMeasurement } from '../../store/measurements.ts';
import { findSourceFile, findSweepRows, findTestRows } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import { findTest, listSteps } from '../../store/tests.ts';
import { fileLines, testsTogether } from '../evaluation/runsTogether.ts';

/** Walks from a number back to the fit, the test, the rows of the record, the file, and who imported it when. */
export async function traceMeasurement(context: Context, id: number): Promise<Provenance> {
  const { store } = context;
  const measurement = await findMeasurement(store, id);
  if (!measurement) throw notFound('measurement', id);
  const cell = await findCell(store, measurement.cellId);
  if (!cell) throw notFound('cell', measurement.cellId);
  const fit = measurement.fitId === null ? null : await findFit(store, measurement.fitId);
  const test = measurement.testId === null ? null : await findTest(store, measurement.testId);
  const fileId = measurement.sourceFileId ?? test?.sourceFileId ?? null;
  const file = fileId === null ? null : await findSourceFile(store, fileId);
  const rows = test ? await findTestRows(store, test.id) : null;
  const { sourceRow } = measurement;
  const sweep = test && sourceRow !== null ? await findSweepRows(store, test.id, sourceRow) : null;
  // A value of a pulse has the line at which the pulse begins; its step says where it ends.
  const stepEnd =
    test === null || fit === null || sourceRow === null ? null : await endOfStep(store, test, sourceRow);
  return {
    measurement,
    cell: { id: cell.id, serial: cell.serial, lotId: cell.lotId, lotName: cell.lotName },
    fit: fit && {
      id: fit.id,
      kind: fit.kind,
      algorithm: fit.algorithm,
      algorithmVersion: fit.algorithmVersion,
      createdAt: fit.createdAt,
      createdBy: fit.createdBy,
    },
    test: test && { id: test.id, kind: test.kind, label: test.label, startedAt: test.startedAt },
    sourceFile: file && {
      id: file.id,
      name: file.name,
      sha256: file.sha256,
      importedAt: file.importedAt,
      importedBy: file.importedBy,
      firstRow: sourceRow ?? rows?.first ?? null,
      lastRow: sweep?.last ?? stepEnd ?? sourceRow ?? rows?.last ?? null,
    },
  };
}

/** The line of the file at which the step ends that begins at another line; null where no step begins there. */
async function endOfStep(store: Store, test: Test, beginsAt: number): Promise<number | null> {
  const steps = await listSteps(store, test.id);
  if (steps.length === 0) return null;
  const tests = await testsTogether(store, test);
  let rows = 0;
  const runs = tests.map(({ record }) => {
    const start = rows;
    rows += record?.rowCount ?? 0;
    return { start, end: rows };
  });
  const line = await fileLines(store, { tests, runs });
  const step = steps.find(({ startRow }) => startRow !== null && line(startRow) === beginsAt);
  return step?.endRow == null ? null : line(step.endRow);
}
