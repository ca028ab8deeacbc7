import type { Context } from '../../context.ts';
import { notFound } from '../../errors.ts';
import type { ExportRecord } from '../../export/recordCsv.ts';
import { ucumCode } from '../../export/ucum.ts';
import { inOrder } from '../../inOrder.ts';
import { findRecord, readRecordColumnAt, type StoredColumn } from '../../store/records.ts';
import { listSweeps, type StoredSweep } from '../../store/sweeps.ts';
import { findTest } from '../../store/tests.ts';

/** Names of the columns whose meaning is known; others keep the name they came with. */
function columnName(column: StoredColumn): string {
  return column.role === 'extra' ? column.name : column.role;
}

/** Columns of a row for each point of a test's spectra; what a sweep does not state is NaN. */
function sweepColumns(sweeps: readonly StoredSweep[]): ExportRecord['columns'] {
  const perPoint = (of: (sweep: StoredSweep, i: number) => number | null): Float64Array =>
    Float64Array.from(
      sweeps.flatMap((sweep) => Array.from(sweep.spectrum.frequencyHz, (_, i) => of(sweep, i) ?? Number.NaN)),
    );
  const stated = [
    { name: 'soc', unit: '1' as const, of: (sweep: StoredSweep) => sweep.soc },
    { name: 'charge', unit: 'A.h' as const, of: (sweep: StoredSweep) => sweep.chargeAh },
    { name: 'voltage', unit: 'V' as const, of: (sweep: StoredSweep) => sweep.voltageV },
    { name: 'temperature', unit: 'Cel' as const, of: (sweep: StoredSweep) => sweep.temperatureC },
  ].filter(({ of }) => sweeps.some((sweep) => of(sweep) !== null));
  return [
    { name: 'sweep', unit: '1', values: perPoint((sweep) => sweep.position + 1) },
    ...stated.map(({ name, unit, of }) => ({ name, unit, values: perPoint(of) })),
    { name: 'frequency', unit: 'Hz', values: perPoint(({ spectrum }, i) => spectrum.frequencyHz[i]) },
    { name: 'z_real', unit: 'Ohm', values: perPoint(({ spectrum }, i) => spectrum.realOhm[i]) },
    { name: 'z_imaginary', unit: 'Ohm', values: perPoint(({ spectrum }, i) => spectrum.imaginaryOhm[i]) },
  ];
}

/**
 * The record of a test for export: the kept columns bit for bit, current positive on charge. Of a test with impedance
 * spectra their points, the imaginary part negative where the cell is capacitive.
 */
export async function readExportRecord(context: Context, testId: number): Promise<ExportRecord> {
  const { store } = context;
  const test = await findTest(store, testId);
  if (!test) throw notFound('test', testId);
  const record = await findRecord(store, testId);
  const sweeps = record === null ? await listSweeps(store, testId) : [];
  if (sweeps.length > 0)
    return { testId, label: test.label, cell: test.cellSerial, columns: sweepColumns(sweeps) };
  return {
    testId,
    label: test.label,
    cell: test.cellSerial,
    columns: await inOrder(record?.columns ?? [], async (column, place) => ({
      name: columnName(column),
      unit: ucumCode(column.unit),
      values:
        record === null
          ? new Float64Array(0)
          : await readRecordColumnAt(store, record, place, 0, record.rowCount),
    })),
  };
}

/** Numbers that every point of a spectrum takes at most in an export. */
const SWEEP_COLUMNS = 8;

/** Samples (rows times columns) of a test's record or spectra, without reading them. */
export async function countSamples(context: Context, testId: number): Promise<number> {
  const record = await findRecord(context.store, testId);
  if (record !== null) return record.rowCount * record.columns.length;
  return ((await findTest(context.store, testId))?.spectra?.pointCount ?? 0) * SWEEP_COLUMNS;
}
