import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportOptions } from '../../server/contract/import.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
});
afterAll(() => test.close());

let number = 0;
async function take(text: string, options: ImportOptions = {}) {
  const file = {
    name: `table-${++number}.csv`,
    open: async () => bufferSource(Buffer.from(text)),
    rereadable: true,
  };
  return importFile(test.context, file, { lot: 'L-1', ...options }, 'b');
}

interface Row {
  readonly quantity: string;
  readonly sourceRow: number;
}

const values = async (serial: string) =>
  selectAll<Row>(
    test.context.store,
    `SELECT m.quantity, m.value, m.unit, m.durationS, m.direction, m.soc, m.currentA, m.cycle, m.sourceRow
     FROM Measurement m JOIN Cell c ON c.id = m.cellId WHERE c.serial = ? ORDER BY m.id`,
    serial,
  );

const count = () => selectOne(test.context.store, 'SELECT COUNT(*) AS measurements FROM Measurement');

/** Resistances of a made-up cell at times of a pulse, and the voltages that they make. */
const timesS = [0.1, 1, 10] as const;
const ohmAt = (durationS: number, soc: number) =>
  0.02 + 0.004 * Math.log10(durationS * 100) + 0.01 * (1 - soc);

describe('a table with one row per cell and pulse', () => {
  const pulses = [0.8, 0.5, 0.2].flatMap((soc) => [
    { soc, currentA: -4 },
    { soc, currentA: 3 },
  ]);
  const restV = (soc: number) => 3.4 + 0.7 * soc;
  const voltage = (soc: number, currentA: number, durationS: number) =>
    (restV(soc) + currentA * ohmAt(durationS, soc)).toFixed(6);
  const expected = pulses.flatMap(({ soc, currentA }) =>
    timesS.map((durationS) => ({
      quantity: 'resistance',
      unit: 'Ohm',
      durationS,
      soc,
      currentA,
      direction: currentA > 0 ? 'charge' : 'discharge',
      value: ohmAt(durationS, soc),
    })),
  );
  const header = (current: string, more = '') =>
    `serial,SOC_%,${more}${current},U0_V,U_100ms_V,U_1s_V,U_10s_V`;
  const rows = (serial: string, write: (currentA: number) => string) =>
    pulses.map(({ soc, currentA }) =>
      [
        serial,
        100 * soc,
        write(currentA),
        restV(soc).toFixed(6),
        ...timesS.map((s) => voltage(soc, currentA, s)),
      ].join(','),
    );

  it.each([
    ['signed currents, charge positive', 'I_A', '', (a: number) => `${a}`],
    ['signed currents, discharge positive', 'I_A', '', (a: number) => `${-a}`],
    ['unsigned currents, from the voltage', 'pulse_current_A', '', (a: number) => `${Math.abs(a)}`],
    [
      'unsigned currents and a column of words',
      'I_mA',
      'direction,',
      (a: number) => `${a > 0 ? 'Laden' : 'Entladen'},${1000 * Math.abs(a)}`,
    ],
  ])('%s: gives the resistance at every time of every pulse', async (name, current, more, write) => {
    const serial = `P-${name.replace(/\W+/g, '-')}`;
    const text = `${header(current, more)}\n${rows(serial, write).join('\n')}\n`;
    const shown = await previewImport(test.context, 'pulses.csv', Buffer.from(text), true, { lot: 'L-1' });
    expect(shown.refusal).toBeNull();
    const report = await take(text);
    expect(report).toMatchObject({ state: 'taken', unusedColumns: [] });
    expect(shown.creates.measurements).toBe(report.measurementsCreated);
    expect(report.mapping.map(({ role }) => role)).toContain('resistance/0.1s');
    const found = (await values(serial)).filter(({ quantity }) => quantity === 'resistance');
    expect(found).toHaveLength(expected.length);
    found.forEach((row, i) => {
      expect(row).toMatchObject({ ...expected[i], value: expect.closeTo(expected[i].value, 5) });
      expect(row.sourceRow).toBe(2 + Math.floor(i / timesS.length));
    });
  });

  it('takes many resistance columns with the current and the direction of their row', async () => {
    const report = await take(
      'serial,SOC_%,direction,I_A,R_100ms_mohm,R_1s_mohm,R_10s_mohm\n' +
        'PR-1,50,discharge,4,21,24,30\nPR-1,50,charge,3,22,25,31\n',
    );
    expect(report).toMatchObject({ state: 'taken', measurementsCreated: 6, unusedColumns: [] });
    expect(await values('PR-1')).toMatchObject([
      { durationS: 0.1, direction: 'discharge', currentA: -4, value: expect.closeTo(0.021, 12) },
      { durationS: 1, direction: 'discharge', currentA: -4 },
      { durationS: 10, direction: 'discharge', currentA: -4, value: expect.closeTo(0.03, 12) },
      { durationS: 0.1, direction: 'charge', currentA: 3 },
      { durationS: 1, direction: 'charge', currentA: 3 },
      { durationS: 10, direction: 'charge', currentA: 3, value: expect.closeTo(0.031, 12) },
    ]);
  });

  it.each([
    [
      'a sign that other rows contradict',
      'PX,50,-4,3.75,3.66,3.65,3.6\nPX,50,4,3.75,3.66,3.65,3.6\n',
      'current-sign',
      3,
      'I_A',
    ],
    [
      'a voltage that does not move with the current',
      'PX,50,4,3.75,3.84,3.75,3.9\n',
      'impossible-pulse',
      2,
      'U_1s_V',
    ],
    ['a pulse without a current', 'PX,50,,3.75,3.84,3.85,3.9\n', 'impossible-pulse', 2, 'U_100ms_V'],
    ['a word for a voltage', 'PX,50,4,3.75,3.84,broken,3.9\n', 'not-a-number', 2, 'U_1s_V'],
  ])('%s is refused by row and column, and nothing is stored', async (_, body, code, row, column) => {
    const before = await count();
    const report = await take(`${header('I_A')}\n${body}`);
    expect(report).toMatchObject({ state: 'refused', refusal: { code, row, column } });
    expect(await count()).toEqual(before);
  });
});

describe('a step table with capacity and energy per step', () => {
  const header = 'step,mode,duration_s,current_A,start_voltage_V,end_voltage_V';
  /** Full, rest, empty, rest, full: a CC-CV charge, a discharge at 2 A, and a charge again. */
  const steps = (rows: readonly (readonly [string, string])[]) =>
    [
      '1,CCCV charge,5000,1,3.2,4.2',
      '2,rest,600,0,4.2,4.18',
      '3,CC discharge,3906,-2,4.15,2.5',
      '4,rest,600,0,2.5,2.9',
      '5,CCCV charge,8000,1,2.9,4.2',
    ]
      .map((line, i) => `${line},${rows[i].join(',')}`)
      .join('\n');

  it.each([
    [
      'a column for each direction',
      'charge_capacity_Ah,discharge_capacity_Ah,charge_energy_Wh,discharge_energy_Wh',
      ['1.1,0,4.2,0', '0,0,0,0', '0,2.17,0,7.9', '0,0,0,0', '2.19,0,8.3,0'],
    ],
    [
      'one unsigned column of each',
      'capacity_mAh,energy_Wh',
      ['1100,4.2', '0,0', '2170,7.9', '0,0', '2190,8.3'],
    ],
    [
      'one signed column of each',
      'capacity_Ah,energy_Wh',
      ['1.1,4.2', '0,0', '-2.17,-7.9', '0,0', '2.19,8.3'],
    ],
  ])('%s: the capacity from full to empty and back is taken', async (name, more, rows) => {
    const cell = `S-${name.replace(/\W+/g, '-')}`;
    const text = `${header},${more}\n${steps(rows.map((row) => [row.split(',')[0], row.split(',').slice(1).join(',')]))}\n`;
    const report = await take(text, { cell });
    expect(report.state).toBe('taken');
    const found = (await values(cell)).filter(({ quantity }) => /capacity|energy/.test(quantity));
    expect(found).toMatchObject([
      { quantity: 'capacity', value: expect.closeTo(2.17, 9), currentA: -2, sourceRow: 4 },
      { quantity: 'energy', value: expect.closeTo(7.9, 9), sourceRow: 4 },
      { quantity: 'charge-capacity', value: expect.closeTo(2.19, 9), sourceRow: 6 },
      { quantity: 'charge-energy', value: expect.closeTo(8.3, 9), sourceRow: 6 },
    ]);
  });

  it('a discharge that began nowhere known, or went on with another current, gives none', async () => {
    await take(`${header},capacity_Ah\n1,CC discharge,3000,-2,3.9,2.5,1.6\n2,rest,60,0,2.5,2.9,0\n`, {
      cell: 'S-part',
    });
    await take(
      `${header},capacity_Ah\n1,CCCV charge,5000,1,3.2,4.2,1\n2,CC discharge,1000,-2,4.1,3.6,0.55\n3,CC discharge,6000,-1,3.6,2.5,1.66\n`,
      { cell: 'S-mixed' },
    );
    for (const cell of ['S-part', 'S-mixed'])
      expect((await values(cell)).filter(({ quantity }) => quantity === 'capacity')).toEqual([]);
  });
});
