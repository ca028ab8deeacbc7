import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportOptions } from '../../server/contract/import.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { findLotByName } from '../../server/store/lots.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { findWarningSigns } from '../../server/use-cases/register/findWarningSigns.ts';
import { selectAll } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
});
afterAll(async () => test.close());

let number = 0;
async function take(text: string, options: ImportOptions = {}) {
  const file = {
    name: `table-${++number}.csv`,
    open: async () => bufferSource(Buffer.from(text)),
    rereadable: true,
  };
  return importFile(test.context, file, { lot: 'L-1', ...options }, 'b');
}

const values = async (serial: string) =>
  selectAll(
    test.context.store,
    `SELECT m.quantity, m.value, m.unit, m.durationS, m.soc, m.temperatureC, m.cycle, m.sourceRow, m.excludedReason
     FROM Measurement m JOIN Cell c ON c.id = m.cellId WHERE c.serial = ? ORDER BY m.id`,
    serial,
  );
const condition = { durationS: null, soc: null, temperatureC: null, cycle: null, excludedReason: null };

describe('a cell table', () => {
  it('takes the drift per day, and what a warning column says of a cell keeps it from being paired', async () => {
    const report = await take(
      'serial,capacity_Ah,drift_uV_per_day,damage\nN-1,2.2,-90,no\nN-2,2.2,-110,corner pressed in\nN-3,2.2,-100,\n',
    );
    expect(report).toMatchObject({ state: 'taken', cellsCreated: 3, warnings: [] });
    expect(await values('N-1')).toContainEqual(
      expect.objectContaining({ quantity: 'drift', value: -0.09, unit: 'mV/d', excludedReason: null }),
    );
    const lot = await findLotByName(test.context.store, 'L-1');
    const warned = (await findWarningSigns(test.context, lot?.id ?? 0)).filter((sign) =>
      sign.serial.startsWith('N-'),
    );
    expect(warned).toMatchObject([{ serial: 'N-2', code: 'damage-noted' }]);
  });

  it('reads a column of the state of charge as percent or as fraction as a whole, not row by row', async () => {
    await take('serial,soc,ocv_V\nS-1,1,3.0\nS-1,50,3.65\nS-1,100,4.2\n');
    await take('serial,soc,ocv_V\nS-2,0.01,3.0\nS-2,0.5,3.65\nS-2,1,4.2\n');
    const socs = async (serial: string) => (await values(serial)).map((row) => (row as { soc: number }).soc);
    expect(await socs('S-1')).toEqual([0.01, 0.5, 1]);
    expect(await socs('S-2')).toEqual([0.01, 0.5, 1]);
    // A fraction a little past full does not make its column one of percent; it is refused by row.
    for (const value of ['1.02', '-0.1']) {
      const report = await take(`serial,soc,ocv_V\nS-3,0.5,3.65\nS-3,${value},4.2\n`);
      expect(report.refusal).toMatchObject({ code: 'impossible-soc', row: 3, column: 'soc', value });
    }
    expect(await values('S-3')).toEqual([]);
    const percent = await take('serial,soc_%,ocv_V\nS-4,50,3.65\nS-4,120,4.2\n');
    expect(percent.refusal).toMatchObject({ code: 'impossible-soc', row: 3, value: '120' });
  });

  it.each([
    ['are empty', 'serial,capacity_Ah,resistance_10s_mOhm\nG%-1,,\nG%-2,n/a,\nG%-3,2.2,20\n'],
    ['hold a remark alone', 'serial,note,capacity_Ah\nG%-1,scratched,\nG%-2,,-\nG%-3,,2.2\n'],
    ['follow a units row', 'serial,capacity\n,Ah\nG%-1,\nG%-2,\nG%-3,2.2\n'],
    ['are of cells that are called like units', 'serial,capacity_Ah\nA%,\nV%,\nG%-3,2.2\n'],
  ])('whose first rows %s keeps its header, and those cells', async (name, text) => {
    const report = await take(text.replaceAll('%', name.includes('units') ? '' : name.slice(0, 3).trim()));
    expect(report).toMatchObject({ state: 'taken', kind: 'cell-table', refusal: null });
    expect(report.cells).toHaveLength(3);
  });

  it('adds the cells of which it has no value too, and what it says of them', async () => {
    const report = await take('serial,capacity_Ah,damage\nM-1,,corner pressed in\nM-2,2.2,\n');
    expect(report).toMatchObject({ cells: ['M-1', 'M-2'], cellsCreated: 2, measurementsCreated: 1 });
    const lot = await findLotByName(test.context.store, 'L-1');
    const signs = (await findWarningSigns(test.context, lot?.id ?? 0)).filter(
      ({ serial }) => serial === 'M-1',
    );
    expect(signs).toMatchObject([{ code: 'damage-noted' }]);
  });

  it('gives one measurement per cell and quantity, in the units we keep, with its row', async () => {
    const report = await take(
      'Serial;Capacity (mAh);R 10s (mOhm);ACIR 1kHz (mOhm);OCV (V);SOC (%);Temp (°C);Mass (g)\n' +
        'T-1;2199,5;21,5;14,1;3,65;50;25;45,2\nT-2;2201;;14,2;3,651;50;25;45,3\n',
    );
    expect(report).toMatchObject({
      state: 'taken',
      kind: 'cell-table',
      cells: ['T-1', 'T-2'],
      cellsCreated: 2,
      measurementsCreated: 9,
    });
    const at = { ...condition, temperatureC: 25, sourceRow: 2 };
    expect(await values('T-1')).toEqual([
      { ...at, quantity: 'capacity', value: 2.1995, unit: expect.any(String) },
      { ...at, quantity: 'resistance', value: 0.0215, unit: expect.any(String), durationS: 10, soc: 0.5 },
      { ...at, quantity: 'impedance-1khz', value: 0.0141, unit: expect.any(String), soc: 0.5 },
      { ...at, quantity: 'ocv', value: 3.65, unit: 'V', soc: 0.5 },
      { ...at, quantity: 'mass', value: 45.2, unit: 'g' },
    ]);
    expect((await values('T-2')).map((row) => (row as { quantity: string }).quantity)).not.toContain(
      'resistance',
    );
  });

  it('is refused whole for one wrong field, and names it', async () => {
    const report = await take('cell_id,capacity_Ah\nU-1,2.2\nU-2,two\n');
    expect(report).toMatchObject({
      state: 'refused',
      refusal: { code: 'not-a-number', row: 3, column: 'capacity_Ah', value: 'two' },
    });
    expect(await selectAll(test.context.store, `SELECT id FROM Cell WHERE serial LIKE 'U-%'`)).toEqual([]);
  });

  it.each(['10000001', '2200', '2.9'])(
    'marks a capacity of %s Ah in cells of 2.2 Ah, which then counts nowhere',
    async (value) => {
      const report = await take(`cell_id,capacity_Ah\nP-${value},${value}\n`);
      expect(report.state).toBe('taken');
      expect(report.warnings.join()).toMatch(
        /1 value cannot be and does not count until you say so: capacity of P-/,
      );
      // Far above the rated capacity the likely cause is named.
      expect(/is the column in mA\.h\?/.test(report.warnings.join())).toBe(value !== '2.9');
      const [row] = await selectAll(
        test.context.store,
        `SELECT m.value, m.excludedReason FROM Measurement m JOIN Cell c ON c.id = m.cellId WHERE c.serial = 'P-${value}'`,
      );
      expect(row).toMatchObject({
        value: Number(value),
        excludedReason: expect.stringMatching(/^implausible: above/),
      });
    },
  );

  it('says which columns were left out for want of a unit', async () => {
    const report = await take('cell_id,capacity_Ah,resistance_10s,K value,box\nV-1,2.2,17,0.02,7\n');
    expect(report.unusedColumns).toEqual([
      { column: 'K value', reason: 'unit-not-stated' },
      { column: 'box', reason: 'not-recognised' },
    ]);
    // 17 ohm is no lithium cell of 2.2 Ah, so the unit can only be the milliohm.
    expect(report.warnings[0]).toMatch(/"resistance_10s" states no unit; mohm was taken/);
    expect(await values('V-1')).toContainEqual(
      expect.objectContaining({ quantity: 'resistance', value: 0.017 }),
    );
    // 50 may be ampere hours of a large cell or milliampere hours of a small one.
    expect(await take('cell_id,capacity\nV-2,50\n')).toMatchObject({
      refusal: { code: 'missing-column', row: 1 },
    });
  });
});

describe('a cycle table', () => {
  it('gives measurements by cycle; what cannot be is kept and left out', async () => {
    const report = await take(
      'cell_id,cycle,discharge_capacity_Ah,charge_time_min\nW-1,1,2.2,60\nW-1,2,0,59.5\n',
    );
    expect(report).toMatchObject({ state: 'taken', kind: 'cycle-table', cells: ['W-1'] });
    expect(await values('W-1')).toMatchObject([
      { quantity: 'capacity', value: 2.2, cycle: 1, excludedReason: null },
      { quantity: 'charge-time', value: 3600, unit: 's', cycle: 1 },
      { quantity: 'capacity', value: 0, cycle: 2, excludedReason: 'not-positive' },
      { quantity: 'charge-time', value: 3570, cycle: 2 },
    ]);
  });
});

describe('a step table', () => {
  it('becomes a test with the steps as logged', async () => {
    const report = await take(
      'step_number,mode,duration_s,start_voltage_V,end_voltage_V,start_current_A,end_current_A,discharge_capacity_Ah\n' +
        '1,rest,30,3.7,3.7,0,0,0\n2,discharge_cc,10,3.6,3.5,-2,-2,0.0055\n',
      { cell: 'S-1' },
    );
    expect(report).toMatchObject({
      state: 'taken',
      kind: 'step-table',
      runs: [{ cell: 'S-1', rowCount: 2, durationS: 40 }],
    });
    const steps = await selectAll(
      test.context.store,
      `SELECT position, origin, mode, startTimeS, durationS, meanCurrentA, endVoltageV, chargeAh FROM Step ORDER BY position`,
    );
    expect(steps).toMatchObject([
      { position: 0, origin: 'table', mode: 'rest', startTimeS: 0, durationS: 30 },
      {
        position: 1,
        mode: 'constant-current',
        startTimeS: 30,
        durationS: 10,
        meanCurrentA: -2,
        endVoltageV: 3.5,
        chargeAh: -0.0055,
      },
    ]);
    expect(await take('step_number,mode,duration_s\n1,rest,30\n')).toMatchObject({
      refusal: { code: 'missing-cell' },
    });
  });
});
