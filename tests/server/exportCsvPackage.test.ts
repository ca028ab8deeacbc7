import { unzipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { csvPackage } from '../../server/export/csvPackage.ts';
import type { ExportRecord } from '../../server/export/recordCsv.ts';
import { checkDataPackage } from './dataPackageRules.ts';
import { hostileName, stackFixture } from './exportFixture.ts';
import { ucumCodeIsValid } from './ucum.ts';

const record: ExportRecord = {
  testId: 101,
  label: 'pulses, "a"',
  cell: hostileName,
  columns: [
    { name: 'time', unit: 's', values: Float64Array.of(0, 0.1, 0.1 + 0.2, 1e-310) },
    { name: 'voltage', unit: 'V', values: Float64Array.of(3.7, -0, 1 / 3, 4.2) },
  ],
};

function open(archive: Uint8Array) {
  return checkDataPackage(unzipSync(archive));
}

describe('the CSV package', () => {
  it('breaks no rule of the open Data Package specification', () => {
    expect(open(csvPackage(stackFixture(), [record])).broken).toEqual([]);
  });

  it('is caught by the rules when a number is a text, a key points nowhere or a file is undeclared', () => {
    const files = unzipSync(csvPackage(stackFixture()));
    const text = Buffer.from(files['measurements.csv']).toString('utf8');
    const broken = checkDataPackage({
      ...files,
      'measurements.csv': Buffer.from(
        text.replace('2.14', '2,14 Ah'.replace(',', ';')).replace('10,1,', '10,9,'),
      ),
      'stray.csv': Buffer.from('a\r\n'),
    }).broken;
    expect(broken).toContain('file stray.csv is in no resource');
    expect(broken.some((rule) => rule.includes('is no number'))).toBe(true);
    expect(broken.some((rule) => rule.includes('cell_id 9 is not in the other table'))).toBe(true);
  });

  it('carries names with commas, quotes, slashes, line breaks and other alphabets unchanged', () => {
    const cells = open(csvPackage(stackFixture())).tables.get('cells');
    expect(cells?.rows[0][1]).toBe(hostileName);
    expect(cells?.rows[0][2]).toBe('Los "A", Teil 1/2');
  });

  it('holds cells, measurements, fits, tables over SOC, the open-circuit curve, ageing, pairs and files', () => {
    const { tables } = open(csvPackage(stackFixture()));
    const counts = Object.fromEntries([...tables].map(([name, table]) => [name, table.rows.length]));
    expect(counts).toEqual({
      cells: 2,
      measurements: 4,
      fits: 2,
      'tables-over-soc': 12,
      'open-circuit': 14,
      ageing: 6,
      pairs: 1,
      'pair-cells': 2,
      files: 2,
    });
  });

  it('leaves a missing number empty and says why in the field beside it', () => {
    const table = open(csvPackage(stackFixture())).tables.get('measurements');
    const column = (name: string) => table?.rows[1][table.header.indexOf(name)];
    expect([column('quantity'), column('value'), column('reason')]).toEqual([
      'drift',
      '',
      'record-too-short',
    ]);
  });

  it('gives every float64 of a record back bit for bit', () => {
    const table = open(csvPackage(stackFixture(), [record])).tables.get('record-test-101');
    const voltage = table?.rows.map((row) => Number(row[1])) ?? [];
    expect(voltage.map((v, i) => Object.is(v, record.columns[1].values[i]))).toEqual([
      true,
      true,
      true,
      true,
    ]);
    expect(table?.header).toEqual(['time_s', 'voltage_V']);
  });

  it('states units as codes that a general UCUM validator accepts', () => {
    const descriptor = JSON.parse(
      Buffer.from(unzipSync(csvPackage(stackFixture()))['datapackage.json']).toString(),
    );
    const units = descriptor.resources
      .flatMap((resource: { schema: { fields: { unit?: string }[] } }) => resource.schema.fields)
      .flatMap((field: { unit?: string }) => (field.unit === undefined ? [] : [field.unit]));
    expect(units.length).toBeGreaterThan(20);
    for (const unit of units) expect(ucumCodeIsValid(unit), unit).toBe(true);
  });

  it('gives the same bytes for the same parameters', () => {
    expect(Buffer.from(csvPackage(stackFixture())).equals(Buffer.from(csvPackage(stackFixture())))).toBe(
      true,
    );
  });
});
