import { setImmediate as breathe } from 'node:timers/promises';
import { ByteWriter, parquetWrite } from 'hyparquet-writer';
import { checkRecord, type ExportRecord, recordColumnNames } from './recordCsv.ts';

/**
 * The record as a Parquet file: one DOUBLE column for each column of the record, a missing sample as null, Snappy. Cell,
 * test and units stand in the key-value metadata, the units as UCUM codes.
 */
export async function recordParquet(record: ExportRecord): Promise<Uint8Array> {
  checkRecord(record);
  const names = recordColumnNames(record);
  const units = Object.fromEntries(record.columns.map((column, i) => [names[i], column.unit]));
  const writer: ByteWriter & { flush?: () => Promise<void> } = new ByteWriter();
  // Called after each group of rows: others have their turn before the next one.
  writer.flush = () => breathe();
  await parquetWrite({
    writer,
    columnData: record.columns.map(({ values }, i) => {
      const nullable = values.some(Number.isNaN);
      const data = nullable ? Array.from(values, (v) => (Number.isNaN(v) ? null : v)) : values;
      return { name: names[i], data, type: 'DOUBLE', nullable };
    }),
    rowGroupSize: 100_000,
    createdBy: 'gemel',
    kvMetadata: [
      { key: 'gemel:cell', value: record.cell },
      { key: 'gemel:test', value: String(record.testId) },
      { key: 'gemel:label', value: record.label },
      { key: 'gemel:units', value: JSON.stringify(units) },
      { key: 'gemel:current', value: 'positive on charge' },
    ],
  });
  return writer.getBytes();
}
