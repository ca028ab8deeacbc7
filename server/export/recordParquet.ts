import { parquetWriteBuffer } from 'hyparquet-writer';
import { checkRecord, type ExportRecord, recordColumnNames } from './recordCsv.ts';

/**
 * The record as a Parquet file: one DOUBLE column for each column of the record, a missing sample as null, Snappy. Cell,
 * test and units stand in the key-value metadata, the units as UCUM codes.
 */
export function recordParquet(record: ExportRecord): Uint8Array {
  checkRecord(record);
  const names = recordColumnNames(record);
  const units = Object.fromEntries(record.columns.map((column, i) => [names[i], column.unit]));
  const buffer = parquetWriteBuffer({
    columnData: record.columns.map(({ values }, i) => {
      const nullable = values.some(Number.isNaN);
      const data = nullable ? Array.from(values, (v) => (Number.isNaN(v) ? null : v)) : values;
      return { name: names[i], data, type: 'DOUBLE', nullable };
    }),
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
