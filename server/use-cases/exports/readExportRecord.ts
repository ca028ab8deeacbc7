import type { Context } from '../../context.ts';
import { notFound } from '../../errors.ts';
import type { ExportRecord } from '../../export/recordCsv.ts';
import { ucumCode } from '../../export/ucum.ts';
import { findRecord, readRecordColumnAt, type StoredColumn } from '../../store/records.ts';
import { findTest } from '../../store/tests.ts';

/** Names of the columns whose meaning is known; others keep the name they came with. */
function columnName(column: StoredColumn): string {
  return column.role === 'extra' ? column.name : column.role;
}

/** The record of a test for export: the kept columns bit for bit, current positive on charge. */
export function readExportRecord(context: Context, testId: number): ExportRecord {
  const { store } = context;
  const test = findTest(store, testId);
  if (!test) throw notFound('test', testId);
  const record = findRecord(store, testId);
  return {
    testId,
    label: test.label,
    cell: test.cellSerial,
    columns: (record?.columns ?? []).map((column, place) => ({
      name: columnName(column),
      unit: ucumCode(column.unit),
      values:
        record === null ? new Float64Array(0) : readRecordColumnAt(store, record, place, 0, record.rowCount),
    })),
  };
}

/** Samples (rows times columns) of a test's record, without reading them. */
export function countSamples(context: Context, testId: number): number {
  const record = findRecord(context.store, testId);
  return record === null ? 0 : record.rowCount * record.columns.length;
}
