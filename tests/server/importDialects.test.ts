import { Readable } from 'node:stream';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { bufferSource, gunzipSource } from '../../server/import/byteSource.ts';
import { parseChoice } from '../../server/import/columnChoice.ts';
import type { RecordFileOptions } from '../../server/import/readRecordFile.ts';
import { readRuns } from '../../server/import/readRecordFile.ts';

async function read(text: string | Buffer, options: RecordFileOptions = {}) {
  const runs = await readRuns(bufferSource(Buffer.from(text)), options);
  expect(runs).toHaveLength(1);
  return runs[0];
}

const expected = { timeS: [0, 1.5, 3], voltageV: [3.7012, 3.6511, 3.65], currentA: [0, -2.5, -2.5] };

function plain(file: Awaited<ReturnType<typeof read>>) {
  const { timeS, voltageV, currentA } = file.columns;
  return { timeS: [...timeS], voltageV: [...voltageV], currentA: [...currentA] };
}

describe('a record file', () => {
  const variants: Record<string, [string, RecordFileOptions?]> = {
    'with commas and units in names': [
      'time_s,voltage_V,current_A\n0,3.7012,0\n1.5,3.6511,-2.5\n3,3.65,-2.5\n',
    ],
    'without a line feed at its end': [
      'time_s,voltage_V,current_A\n0,3.7012,0\n1.5,3.6511,-2.5\n3,3.65,-2.5',
    ],
    'with CR LF': ['time_s,voltage_V,current_A\r\n0,3.7012,0\r\n1.5,3.6511,-2.5\r\n3,3.65,-2.5\r\n'],
    'with a byte order mark': [
      '\uFEFFtime_s,voltage_V,current_A\n0,3.7012,0\n1.5,3.6511,-2.5\n3,3.65,-2.5\n',
    ],
    'with semicolons and decimal commas': [
      'Time (s);U [V];I [A]\n0;3,7012;0\n1,5;3,6511;-2,5\n3;3,65;-2,5\n',
    ],
    'with names in German': ['Zeit;Spannung;Strom\n0;3,7012;0\n1,5;3,6511;-2,5\n3;3,65;-2,5\n'],
    'with an index column that has no name': [
      ',Time,Voltage_measured,Current_measured,Voltage_load\n0,0,3.7012,0,9\n1,1.5,3.6511,-2.5,9\n2,3,3.65,-2.5,9\n',
    ],
    'with tabs': ['t/s\tU/V\tI/A\n0\t3.7012\t0\n1.5\t3.6511\t-2.5\n3\t3.65\t-2.5\n'],
    'with a preamble, blank lines and a units row': [
      'Bench 4;operator shift 2\nStart: 08:00\n\nTime;Voltage;Current\nms;mV;mA\n0;3701,2;0\n1500;3651,1;-2500\n3000;3650;-2500\n',
    ],
    'with a units row in brackets': ['Time,Voltage,Current\n[h],[V],[mA]\n0,3.7012,0\n\n', { columns: {} }],
    'with quoted fields': [
      '"time_s","voltage_V","current_A","remark"\n"0","3.7012","0","start, cold"\n1.5,3.6511,-2.5,"a ""b"""\n3,"3.65",-2.5,\n',
    ],
    'with quoted decimal commas': [
      'time_s,voltage_V,current_A\n"0,0","3,7012","0,0"\n"1,5","3,6511","-2,5"\n"3,0","3,65","-2,5"\n',
    ],
    'with blanks round the fields': [
      'time_s , voltage_V , current_A\n 0 , 3.7012 ,  0\n1.5,  3.6511 ,-2.5 \n3,3.65,-2.5\n',
    ],
    'with a delimiter after the last field': [
      'time_s,voltage_V,current_A\n0,3.7012,0,\n1.5,3.6511,-2.5,\n3,3.65,-2.5,\n',
    ],
    'with exponents and plus signs': [
      'time_s,voltage_V,current_A\n0,+3.7012,0E0\n1.5,3651.1e-3,-2.5\n3,36.5e-1,-.25e1\n',
    ],
    'with hours, minutes and seconds': [
      'Elapsed time,Voltage V,Current A\n00:00:00,3.7012,0\n00:00:01.5,3.6511,-2.5\n0:00:03,3.65,-2.5\n',
    ],
    'with instants': [
      'Time,Voltage V,Current A\n2026-01-31 08:59:59,3.7012,0\n2026-01-31 09:00:00.5,3.6511,-2.5\n2026-01-31 09:00:02,3.65,-2.5\n',
    ],
    'with columns that are named': [
      'x,y,z\n0,3.7012,0\n1.5,3.6511,-2.5\n3,3.65,-2.5\n',
      { columns: parseChoice('time=x,voltage=y,current=z') },
    ],
    'with columns and units that are given, without a header': [
      '0,3.7012,0\n1500,3.6511,-2500\n3000,3.65,-2500\n',
      {
        columns: parseChoice('time=column 1,voltage=column 2,current=column 3'),
        units: { time: 'ms', current: 'mA' },
      },
    ],
    'with discharge counted positive': [
      'time_s,voltage_V,current_A\n0,3.7012,0\n1.5,3.6511,2.5\n3,3.65,2.5\n',
      { currentSign: 'discharge-positive' },
    ],
    'with texts beside the numbers': [
      'mode,time_s,voltage_V,current_A\nREST,0,3.7012,0\nDCHG,1.5,3.6511,-2.5\nDCHG,3,3.65,-2.5\n',
    ],
  };
  for (const [name, [text, options]] of Object.entries(variants)) {
    it(`${name} gives the same numbers`, async () => {
      const file = await read(text, options);
      if (name.includes('in brackets'))
        expect(plain(file)).toEqual({ timeS: [0], voltageV: [3.7012], currentA: [0] });
      else expect(plain(file)).toEqual(expected);
      expect(Object.is(file.columns.currentA[0], 0)).toBe(true);
    });
  }

  it('packed with gzip gives the same numbers and the same hash', async () => {
    const bytes = Buffer.from(variants['with CR LF'][0]);
    const [packed] = await readRuns(gunzipSource(Readable.from([gzipSync(bytes)])));
    const unpacked = await read(bytes);
    expect(plain(packed)).toEqual(expected);
    expect(packed.sha256).toBe(unpacked.sha256);
  });

  it('in windows-1252 is read when that is said', async () => {
    const text = Buffer.from('time_s,voltage_V,current_A,Temperatur (°C)\n0,3.7012,0,25.5\n', 'latin1');
    // Its one sign beyond ASCII fits Windows-1252, so it is read so by itself, and that is said.
    expect((await read(text)).warnings).toContainEqual(expect.stringMatching(/read as Windows-1252/));
    const file = await read(text, { encoding: 'windows-1252' });
    expect([...(file.columns.temperatureC ?? [])]).toEqual([25.5]);
  });

  it('keeps two rows with one time stamp', async () => {
    const file = await read('time_s,voltage_V,current_A\n0,3.7,0\n10,3.7,0\n10,3.6,-2\n11,3.5,-2\n');
    expect([...file.columns.timeS]).toEqual([0, 10, 10, 11]);
  });

  it('tells how each column was taken', async () => {
    const file = await read(
      'Time;U (mV);I (mA);T (K);Step;Charge (Ah)\n0;3700;100;298,15;1;0\n1;3701;100;298,15;1;0,00003\n',
    );
    expect(
      file.mapping.map(({ role, source, unit, keptUnit, unitFrom }) => [
        role,
        source,
        unit,
        keptUnit,
        unitFrom,
      ]),
    ).toEqual([
      ['time', 'Time', 's', 's', 'assumed'],
      ['voltage', 'U (mV)', 'mV', 'V', 'header'],
      ['current', 'I (mA)', 'mA', 'A', 'header'],
      ['temperature', 'T (K)', 'K', 'Cel', 'header'],
      ['step', 'Step', null, null, null],
      ['extra', 'Charge (Ah)', 'Ah', 'Ah', 'header'],
    ]);
    expect(file.columns.temperatureC?.[0]).toBeCloseTo(25, 10);
    expect([...file.extra['Charge (Ah)']]).toEqual([0, 0.00003]);
    expect(file.warnings).toEqual(['time: column "Time" states no unit; s was taken']);
    expect(file.dialect).toMatchObject({ delimiter: ';', decimal: ',', headerLine: 1, firstDataLine: 2 });
  });
});

describe('a file with several runs', () => {
  const text =
    'cell_id,run,time_s,voltage_V,current_A\nA1,1,0,4,-1\nA1,1,1,3.9,-1\nA1,2,0,4.1,-1\nB7,1,0,4.2,-1\nB7,1,5,4.1,-1\n';

  it('is split where a key column changes', async () => {
    const runs = await readRuns(bufferSource(Buffer.from(text)));
    expect(
      runs.map((run) => [
        run.key.map(({ value }) => value).join('/'),
        run.rowCount,
        run.firstLine,
        run.firstRow,
      ]),
    ).toEqual([
      ['A1/1', 2, 2, 1],
      ['A1/2', 1, 4, 3],
      ['B7/1', 2, 5, 4],
    ]);
  });

  it('gives a selected run', async () => {
    const [run, ...others] = await readRuns(bufferSource(Buffer.from(text)), { select: { cell_id: 'B7' } });
    expect(others).toEqual([]);
    expect([...run.columns.timeS]).toEqual([0, 5]);
    await expect(readRuns(bufferSource(Buffer.from(text)), { select: { run: '9' } })).rejects.toMatchObject({
      refusal: { code: 'unknown-run', value: '9' },
    });
  });

  it('puts interleaved cells back together', async () => {
    const rows = Array.from({ length: 10_000 }, (_, i) => `${i},${i % 3},3.${i % 10},0`).join('\n');
    const runs = await readRuns(bufferSource(Buffer.from(`time_s,channel,voltage_V,current_A\n${rows}\n`)));
    expect(runs.map((run) => [run.key[0].value, run.rowCount])).toEqual([
      ['0', 3334],
      ['1', 3333],
      ['2', 3333],
    ]);
    expect([...runs[1].columns.timeS.slice(0, 3)]).toEqual([1, 4, 7]);
  });

  it('is split by the cycle where time begins afresh, and not where it goes on', async () => {
    const split = 'time_s,cycle,voltage_V,current_A\n0,1,3.9,1\n9,1,4,1\n0,2,3.9,1\n8,2,4,1\n';
    const runs = await readRuns(bufferSource(Buffer.from(split)));
    expect(runs.map((run) => [run.key, [...run.columns.timeS]])).toEqual([
      [[], [0, 9]],
      [[{ column: 'cycle', value: '2' }], [0, 8]],
    ]);
    const on = 'time_s,cycle,voltage_V,current_A\n0,1,3.9,1\n9,1,4,1\n10,2,3.9,1\n';
    expect(await readRuns(bufferSource(Buffer.from(on)))).toHaveLength(1);
  });
});

describe('lines within the data that are not rows', () => {
  it('are left out with a note that counts them and names the first', async () => {
    const { warnings, rowCount } = await read(
      'time_s,voltage_V,current_A\n0,3.7,0\n# range 2\n1,3.7,0\n// ok\ntime_s,voltage_V,current_A\n2,3.7,0\n',
    );
    expect(rowCount).toBe(3);
    expect(warnings).toContain('2 comment lines within the data were left out, the first in line 3');
    expect(warnings).toContain('1 repeated header line within the data was left out, in line 6');
  });

  it('are rows where cells are called so', async () => {
    const runs = await readRuns(
      bufferSource(Buffer.from('cell,time_s,voltage_V,current_A\n#1,0,3.7,0\n#1,1,3.7,0\n#2,0,3.8,0\n')),
    );
    expect(runs.map(({ key, rowCount }) => [key[0].value, rowCount])).toEqual([
      ['#1', 2],
      ['#2', 1],
    ]);
  });
});

describe('times of day beside a date', () => {
  it('go on past midnight, and begin at the instant written', async () => {
    const { columns } = await read(
      'Date,Time,Voltage (V),Current (A)\n30.11.2026,23:59:59.5,3.7,0\n01.12.2026,00:00:00.25,3.7,-1\n',
    );
    expect([...columns.timeS]).toEqual([0, 0.75]);
  });

  it('are not added to a time that has elapsed since the start', async () => {
    const { columns } = await read(
      'Date,Test Time,Voltage (V),Current (A)\n30.11.2026,00:00:00,3.7,0\n01.12.2026,00:00:10,3.7,-1\n',
    );
    expect([...columns.timeS]).toEqual([0, 10]);
  });
});
