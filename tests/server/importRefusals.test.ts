import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { gzipSync } from 'node:zlib';
import { afterAll, describe, expect, it } from 'vitest';
import { bufferSource, gunzipSource } from '../../server/import/byteSource.ts';
import type { RecordFileOptions } from '../../server/import/readRecordFile.ts';
import { readRecordFile, readRuns } from '../../server/import/readRecordFile.ts';
import { readTable } from '../../server/import/readTableFile.ts';
import type { Refusal } from '../../server/import/refusedFile.ts';
import { RefusedFile } from '../../server/import/refusedFile.ts';

const head = 'time_s,voltage_V,current_A\n';
const good = '0,3.70,0\n1,3.71,0.5\n';
const folder = mkdtempSync(join(tmpdir(), 'gemel-refusals-'));
afterAll(() => rmSync(folder, { recursive: true }));

async function refusalOf(work: Promise<unknown>): Promise<Refusal> {
  try {
    await work;
  } catch (error) {
    if (error instanceof RefusedFile) {
      expect(error.refusal.reason).not.toBe('');
      expect(error.refusal.expected).not.toBe('');
      expect(error.message).toContain(error.refusal.reason);
      return error.refusal;
    }
    throw error;
  }
  throw new Error('The file was taken');
}

const record = async (text: string | Buffer, options: RecordFileOptions = {}) =>
  refusalOf(readRuns(bufferSource(Buffer.from(text)), options));

describe('a broken record file is refused with its place:', () => {
  const cases: Record<string, [string | Buffer, Partial<Refusal>, RecordFileOptions?]> = {
    'nothing in it': ['', { code: 'empty-file' }],
    'only blanks': ['\n \n', { code: 'empty-file' }],
    'a header alone': [head, { code: 'no-rows', row: 1 }],
    'a word for a number': [
      `${head}${good}2,abc,0\n`,
      { code: 'not-a-number', row: 4, column: 'voltage_V', value: 'abc' },
    ],
    'a grouped number': [
      `${head}${good}"2,000",3.7,0\n`,
      { code: 'not-a-number', row: 4, column: 'time_s', value: '2,000' },
    ],
    'a hexadecimal number': [`${head}${good}0x10,3.7,0\n`, { code: 'not-a-number', row: 4, value: '0x10' }],
    'a decimal comma in a file of points': [
      'time_s;voltage_V;current_A\n0;3.7;0\n1;3.7;0\n2;3,7;0\n',
      { code: 'not-a-number', row: 4, column: 'voltage_V', value: '3,7' },
    ],
    'an empty field': [
      `${head}${good}2,,0\n`,
      { code: 'missing-value', row: 4, column: 'voltage_V', value: '' },
    ],
    'an empty last field': [`${head}${good}2,3.7,\n`, { code: 'missing-value', row: 4, column: 'current_A' }],
    'not a number (NaN)': [
      `${head}${good}2,NaN,0\n`,
      { code: 'not-finite', row: 4, column: 'voltage_V', value: 'NaN' },
    ],
    infinity: [
      `${head}${good}2,3.7,-inf\n`,
      { code: 'not-finite', row: 4, column: 'current_A', value: '-inf' },
    ],
    'a number beyond float64': [`${head}${good}2,1e999,0\n`, { code: 'not-finite', row: 4, value: '1e999' }],
    'time running backwards': [
      `${head}${good}0.5,3.7,0\n`,
      { code: 'time-backwards', row: 4, column: 'time_s', value: '0.5 s' },
    ],
    'an impossible voltage': [
      `${head}${good}2,3701,0\n`,
      { code: 'impossible-voltage', row: 4, column: 'voltage_V', value: '3701 V' },
    ],
    'a voltage outside the limits of its chemistry': [
      `${head}${good}2,4.9,0\n`,
      { code: 'impossible-voltage', row: 4, value: '4.9 V' },
      { limits: { voltageMinV: 1, voltageMaxV: 4.7 } },
    ],
    'an impossible current': [
      `${head}${good}2,3.7,3.4e38\n`,
      { code: 'impossible-current', row: 4, column: 'current_A', value: '3.4e+38 A' },
    ],
    'an impossible temperature': [
      'time_s,voltage_V,current_A,temperature_C\n0,3.7,0,25\n1,3.7,0,6553.5\n',
      { code: 'impossible-temperature', row: 3, column: 'temperature_C', value: '6553.5 °C' },
    ],
    'too few fields': [`${head}${good}2,3.7\n`, { code: 'field-count', row: 4, value: '2,3.7' }],
    'a file that is cut off': [`${head}${good}2,3.`, { code: 'field-count', row: 4, value: '2,3.' }],
    'too many fields': [`${head}${good}2,3.7,0,9\n`, { code: 'field-count', row: 4 }],
    'no column for the voltage': [
      'time_s,current_A\n0,0\n1,0\n',
      { code: 'missing-column', row: 1, column: 'voltage' },
    ],
    'two columns for the voltage': [
      'time_s,voltage 1 (V),voltage 2 (V),current_A\n0,3.7,3.7,0\n',
      { code: 'ambiguous-column', row: 1 },
    ],
    'two columns of one name': [
      'time_s,voltage_V,current_A,x,x\n0,3.7,0,1,1\n',
      { code: 'duplicate-column', row: 1, column: 'x' },
    ],
    'a chosen column that is not there': [
      `${head}${good}`,
      { code: 'unknown-column', row: 1, column: 'U' },
      { columns: { voltage: 'U' } },
    ],
    'a unit that means nothing': [
      'time (s),voltage (V),current (dA)\n0,3.7,0\n',
      { code: 'unknown-unit', row: 1, column: 'current (dA)', value: 'dA' },
    ],
    'a unit of another quantity': [
      `${head}${good}`,
      { code: 'unknown-unit', value: 'kg' },
      { units: { current: 'kg' } },
    ],
    'a quote that does not close': [`${head}${good}2,"3.7,0\n3,3.7,0\n`, { code: 'unclosed-quote', row: 4 }],
    'a zero byte': [`${head}${good}2,3.\0,0\n`, { code: 'binary-content', row: 4 }],
    'UTF-16 with half a sign': [
      Buffer.concat([Buffer.from(`\uFEFF${head}${good}`, 'utf16le'), Buffer.from([0x00, 0xd8, 0x0a, 0x00])]),
      { code: 'wrong-encoding' },
    ],
    'bytes that are not UTF-8': [
      Buffer.concat([Buffer.from(`${head}${good}`), Buffer.from([0x32, 0x2c, 0x81, 0x43, 0x0a])]),
      { code: 'wrong-encoding', row: 4 },
    ],
    'lone carriage returns beside line feeds': [`${head.replace('\n', '\r')}${good}`, { code: 'line-ends' }],
    'one group of digits that could be decimals': [
      'time_s;voltage_mV;current_A\n0;3700.5;0\n1;3,701;0\n',
      { code: 'not-a-number', row: 3, column: 'voltage_mV', value: '3,701' },
    ],
    'groups of other than three digits': [
      'time_s;voltage_mV;current_A\n0;3700.5;0\n1;3,70,1.5;0\n',
      { code: 'not-a-number', row: 3, value: '3,70,1.5' },
    ],
    'what a meter writes beyond its range': [
      `${head}${good}2,OVER,0\n3,3.7,0\n`,
      {
        code: 'not-a-number',
        row: 4,
        value: 'OVER',
        expected: 'The instrument wrote no reading here: take the row out',
      },
    ],
    'a bad row below remarks, notes with line breaks and a second header': [
      `time_s,voltage_V,current_A,note\n0,3.7,0,"a\nb\nc"\n# range\n1,3.71,0,\ntime_s,voltage_V,current_A,note\n2,x,0,\n`,
      { code: 'not-a-number', row: 8, value: 'x' },
    ],
    'a quote that never closes': [
      `time_s,voltage_V,current_A,note\n0,3.7,0,"a\nb"\n1,3.7,0,"open\n${'2,3.7,0,\n'.repeat(80)}`,
      { code: 'unclosed-quote' },
    ],
    'a date that another writes otherwise': [
      `Date;Time;Voltage (V);Current (A)\n${'30.11.2026;08:00:00;3.7;0\n'.repeat(500)}2026-12-01;08:00:01;3.7;0\n`,
      { code: 'not-a-number', row: 502, column: 'Date', value: '2026-12-01' },
    ],
    'a number of 500 digits': [
      `${head}${good}2,${'3'.repeat(500)},0\n`,
      { code: 'field-too-long', row: 4, column: 'voltage_V' },
    ],
    'a column name without end': [
      `time_s,voltage_V,current_A,${'_-'.repeat(50_000)}\n0,3.7,0,1\n`,
      { code: 'field-too-long', row: 1 },
    ],
    'a line without end': [`${head}${good}${'1'.repeat(3_000_000)}`, { code: 'line-too-long' }],
    '10,000 columns': [
      `${Array.from({ length: 10_000 }, (_, i) => `c${i}`).join(',')}\n${'1,'.repeat(9_999)}1\n`,
      { code: 'too-many-columns', row: 1, value: '10000' },
    ],
    'several runs where one is wanted': [
      'run,time_s,voltage_V,current_A\n1,0,3.7,0\n1,1,3.7,0\n2,0,3.7,0\n2,1,3.7,0\n',
      { code: 'unknown-run' },
      { select: { run: '3' } },
    ],
  };
  for (const [name, [content, expected, options]] of Object.entries(cases)) {
    it(name, async () => {
      expect(await record(content, options)).toMatchObject(expected);
    });
  }

  it('the row counts preamble, header, units row and blank lines', async () => {
    const text = 'Bench 4\n\nTime;Voltage;Current\ns;V;A\n0;3,7;0\n\n\n1;3,7;0\n2;x;0\n';
    expect(await record(text)).toMatchObject({ code: 'not-a-number', row: 9, value: 'x' });
  });

  it('the row is right far into a file of many blocks', async () => {
    const rows = Array.from({ length: 200_000 }, (_, i) => `${i}.0,3.70123,0.5`);
    rows[150_000] = '150000.0,3.7x,0.5';
    expect(await record(`${head}${rows.join('\n')}\n`)).toMatchObject({ code: 'not-a-number', row: 150_002 });
    rows[150_000] = '150000.0,37.0,0.5';
    expect(await record(`${head}${rows.join('\n')}\n`)).toMatchObject({
      code: 'impossible-voltage',
      row: 150_002,
    });
    rows[150_000] = '149998.0,3.70,0.5';
    expect(await record(`${head}${rows.join('\n')}\n`)).toMatchObject({
      code: 'time-backwards',
      row: 150_002,
    });
  });
});

describe('a file that cannot be read is refused:', () => {
  it('one that is not there, and a folder', async () => {
    expect(await refusalOf(readRecordFile(join(folder, 'none.csv')))).toMatchObject({
      code: 'unreadable-file',
    });
    expect(await refusalOf(readRecordFile(folder))).toMatchObject({ code: 'unreadable-file' });
  });

  it('a file with several runs where one is wanted', async () => {
    const path = join(folder, 'runs.csv');
    writeFileSync(path, 'run,time_s,voltage_V,current_A\n1,0,3.7,0\n1,1,3.7,0\n2,0,3.7,0\n2,1,3.7,0\n');
    expect(await refusalOf(readRecordFile(path))).toMatchObject({
      code: 'several-runs',
      row: 4,
      column: 'run',
      value: '2',
    });
  });

  it('gzip that is cut off or damaged', async () => {
    const packed = gzipSync(Buffer.from(`${head}${good.repeat(1000)}`));
    const read = async (bytes: Buffer) => refusalOf(readRuns(gunzipSource(Readable.from([bytes]))));
    expect(await read(packed.subarray(0, packed.length - 20))).toMatchObject({ code: 'corrupt-compression' });
    const damaged = Buffer.from(packed);
    damaged[12] ^= 0xff;
    expect(await read(damaged)).toMatchObject({ code: 'corrupt-compression' });
  });

  it('gzip that expands beyond reason', async () => {
    const bomb = gzipSync(Buffer.concat([Buffer.from(head), Buffer.alloc(200_000_000, '\n')]));
    expect(bomb.length).toBeLessThan(300_000);
    expect(await refusalOf(readRuns(gunzipSource(Readable.from([bomb]))))).toMatchObject({
      code: 'expands-too-far',
    });
  });
});

describe('a broken table is refused with its place:', () => {
  const table = async (text: string) => refusalOf(readTable(bufferSource(Buffer.from(text))));
  it('a row of other length, an open quote, no rows', async () => {
    expect(await table('cell,capacity_Ah\nA,2.1\nB\n')).toMatchObject({
      code: 'field-count',
      row: 3,
      value: 'B',
    });
    expect(await table('cell,capacity_Ah\nA,2.1\n"B,2.2\n')).toMatchObject({
      code: 'unclosed-quote',
      row: 3,
    });
    expect(await table('cell,capacity_Ah\n')).toMatchObject({ code: 'no-rows' });
  });
});
