import { parquetWriteBuffer } from 'hyparquet-writer';
import { checkRecord, type ExportRecord, recordColumnName } from './recordCsv.ts';

/**
 * The record as a Parquet file: one DOUBLE column for each column of the record, nothing missing, Snappy. Cell, test
 * and units stand in the key-value metadata, the units as UCUM codes.
 */
export function recordParquet(record: ExportRecord): Uint8Array {
  checkRecord(record);
  const units = Object.fromEntries(record.columns.map((column) => [recordColumnName(column), column.unit]));
  const buffer = parquetWriteBuffer({
    columnData: record.columns.map((column) => ({
      name: recordColumnName(column),
      data: column.values,
      type: 'DOUBLE',
      nullable: false,
    })),
    rowGroupSize: 500_000,
    createdBy: 'gemel',
    kvMetadata: [
      { key: 'gemel:cell', value: record.cell },
      { key: 'gemel:test', value: String(record.testId) },
      { key: 'gemel:label', value: record.label },
      { key: 'gemel:units', value: JSON.stringify(units) },
      { key: 'gemel:current', value: 'positive on charge' },
    ],
  });
  return new Uint8Array(buffer);
}
