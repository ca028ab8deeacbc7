import type { Context } from '../../context.ts';
import type { Provenance } from '../../contract/measurements.ts';
import { notFound } from '../../errors.ts';
import { findCell } from '../../store/cells.ts';
import { findFit } from '../../store/fits.ts';
import { findMeasurement } from '../../store/measurements.ts';
import { findSourceFile, findSweepRows, findTestRows } from '../../store/sourceFiles.ts';
import { findTest, listSteps } from '../../store/tests.ts';

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
  const place = sourceRow === null || rows?.first == null ? null : sourceRow - rows.first;
  const step =
    test !== null && fit !== null && place !== null
      ? (await listSteps(store, test.id)).find(({ startRow }) => startRow === place)
      : undefined;
  const stepEnd = step?.endRow == null || rows?.first == null ? null : rows.first + step.endRow;
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
