import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { parse } from 'csv-parse/sync';
import { unzipSync } from 'fflate';
import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import { describe, expect, it } from 'vitest';
import { csvPackage } from '../../server/export/csvPackage.ts';
import { type ExportRecord, recordCsv } from '../../server/export/recordCsv.ts';
import { recordParquet } from '../../server/export/recordParquet.ts';
import { ExportRefused } from '../../server/export/refusal.ts';
import { checkDataPackage } from './dataPackageRules.ts';
import { hostileName, stackFixture } from './exportFixture.ts';

const rows = 70_001;
const record: ExportRecord = {
  testId: 12,
  label: 'pulses, "25 °C"\r\n',
  cell: hostileName,
  columns: [
    { name: 'time', unit: 's', values: Float64Array.from({ length: rows }, (_, i) => i * 0.1) },
    {
      name: 'voltage',
      unit: 'V',
      values: Float64Array.from({ length: rows }, (_, i) => 3.7 + Math.sin(i) / 3),
    },
    {
      name: 'current',
      unit: 'A',
      values: Float64Array.from({ length: rows }, (_, i) => (i % 7 === 0 ? -0 : 0.1 + 0.2)),
    },
    { name: 'temperature', unit: 'Cel', values: new Float64Array(rows).fill(1e-310) },
  ],
};
const names = ['time_s', 'voltage_V', 'current_A', 'temperature_C'];

describe('the record as Parquet', () => {
  it('is read back by hyparquet bit for bit, with cell and units in its metadata', async () => {
    const bytes = await recordParquet(record);
    const file = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) as ArrayBuffer;
    const read = await parquetReadObjects({ file });
    expect(read).toHaveLength(rows);
    let differing = 0;
    for (let i = 0; i < rows; i++)
      names.forEach((name, c) => {
        if (!Object.is(read[i][name], record.columns[c].values[i])) differing++;
      });
    expect(differing).toBe(0);
    const metadata = Object.fromEntries(
      (parquetMetadata(file).key_value_metadata ?? []).map((entry) => [entry.key, entry.value]),
    );
    expect(metadata['gemel:cell']).toBe(hostileName);
    expect(JSON.parse(metadata['gemel:units'] ?? '{}')).toEqual({
      time_s: 's',
      voltage_V: 'V',
      current_A: 'A',
      temperature_C: 'Cel',
    });
  });

  it('is read by DuckDB with the same types, rows and sums', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-parquet-'));
    const path = join(folder, 'record.parquet');
    writeFileSync(path, await recordParquet(record));
    const instance = await DuckDBInstance.create(':memory:');
    const connection = await instance.connect();
    const result = await connection.runAndReadAll(
      `SELECT count(*)::INTEGER AS n, max(time_s) AS last, min(voltage_V) AS low, max(voltage_V) AS high,
         count(DISTINCT current_A)::INTEGER AS currents, typeof(any_value(temperature_C)) AS type FROM '${path}'`,
    );
    connection.closeSync();
    instance.closeSync();
    rmSync(folder, { recursive: true });
    const voltage = record.columns[1].values;
    expect(result.getRowObjects()).toEqual([
      {
        n: rows,
        last: (rows - 1) * 0.1,
        low: voltage.reduce((a, b) => Math.min(a, b)),
        high: voltage.reduce((a, b) => Math.max(a, b)),
        currents: 2,
        type: 'DOUBLE',
      },
    ]);
  });
});

describe('a record with a missing sample and two columns of one name', () => {
  const odd: ExportRecord = {
    ...record,
    columns: [
      { name: 'time', unit: 's', values: Float64Array.of(0, 1, 2) },
      { name: 'temperature', unit: 'Cel', values: Float64Array.of(25, Number.NaN, 26) },
      { name: 'temperature', unit: 'Cel', values: Float64Array.of(20, 21, 22) },
    ],
  };

  it('has an empty field in CSV and null in Parquet, never NaN, and names each column once', async () => {
    expect(Buffer.from(recordCsv(odd)).toString()).toBe(
      'time_s,temperature_C,temperature_C_2\r\n0,25,20\r\n1,,21\r\n2,26,22\r\n',
    );
    const bytes = await recordParquet(odd);
    const file = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) as ArrayBuffer;
    expect(await parquetReadObjects({ file })).toEqual([
      { time_s: 0, temperature_C: 25, temperature_C_2: 20 },
      { time_s: 1, temperature_C: null, temperature_C_2: 21 },
      { time_s: 2, temperature_C: 26, temperature_C_2: 22 },
    ]);
  });

  it('keeps to the Data Package rules in the CSV package', () => {
    expect(checkDataPackage(unzipSync(csvPackage(stackFixture(), [odd]))).broken).toEqual([]);
  });
});

describe('the record as CSV', () => {
  it('is read back by a general CSV reader bit for bit', () => {
    const [header, ...read] = parse(Buffer.from(recordCsv(record)), {
      record_delimiter: '\r\n',
    }) as string[][];
    expect(header).toEqual(names);
    expect(read).toHaveLength(rows);
    let differing = 0;
    for (let i = 0; i < rows; i++)
      for (let c = 0; c < 4; c++)
        if (!Object.is(Number(read[i][c]), record.columns[c].values[i])) differing++;
    expect(differing).toBe(0);
  });

  it('is refused where the test has no samples', async () => {
    const empty = { ...record, columns: [{ name: 'time', unit: 's', values: new Float64Array(0) }] };
    expect(() => recordCsv(empty)).toThrow(ExportRefused);
    const message = 'test 12: record: missing; the test has no samples';
    expect(() => recordCsv(empty)).toThrow(message);
    await expect(recordParquet(empty)).rejects.toThrow(message);
  });
});
