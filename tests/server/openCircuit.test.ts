import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportOptions } from '../../server/contract/import.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { openCircuitOf } from '../../server/use-cases/parameters/openCircuitOf.ts';
import { makeLot } from '../support/basics.ts';
import { runSql, selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const CAPACITY_AH = 2;
const SERIES_OHM = 0.05;
const openCircuitV = (soc: number): number => 3.4 + 0.5 * soc + 0.1 * soc ** 2;

/** A discharge and a charge at C/20 with rests between, one row a minute. */
function slowRecord(): string {
  const rows: string[] = [];
  let soc = 1;
  let minute = 0;
  const step = (minutes: number, currentA: number): void => {
    for (let i = 0; i < minutes; i++) {
      const volts = openCircuitV(soc) + SERIES_OHM * currentA;
      rows.push(`${60 * minute},${volts.toFixed(5)},${currentA}`);
      soc += currentA / 60 / CAPACITY_AH;
      minute++;
    }
  };
  step(30, 0);
  step(1190, -CAPACITY_AH / 20);
  step(60, 0);
  step(1190, CAPACITY_AH / 20);
  step(30, 0);
  return `time_s,voltage_V,current_A\n${rows.join('\n')}\n`;
}

/** Rests between pulses from full to empty: a curve of few points. */
function pulseRecord(pulses = 5): string {
  const rows: string[] = [];
  let soc = 1;
  let second = 0;
  const step = (seconds: number, currentA: number): void => {
    for (let i = 0; i < seconds; i += 5) {
      rows.push(`${second},${(openCircuitV(soc) + SERIES_OHM * currentA).toFixed(5)},${currentA}`);
      soc += (currentA * 5) / 3600 / CAPACITY_AH;
      second += 5;
    }
  };
  step(600, 0);
  for (let i = 0; i < pulses; i++) {
    step(720, -CAPACITY_AH);
    step(900, 0);
  }
  return `time_s,voltage_V,current_A\n${rows.join('\n')}\n`;
}

describe('the open-circuit curve that stands for a cell', () => {
  let test: TestApp;
  let lot: string;
  let count = 0;
  beforeAll(async () => {
    test = await openTestApp();
    lot = (await makeLot(test.context)).lot.name;
  });
  afterAll(async () => test.close());

  async function take(cell: string, text: string, options: ImportOptions): Promise<number> {
    const name = `record-${++count}.csv`;
    // The bytes of a file are taken once: a remark above the header makes each its own.
    const bytes = Buffer.from(`run ${count}\n${text}`);
    const file = { name, open: async () => bufferSource(bytes), rereadable: true };
    const report = await importFile(test.context, file, { lot, cell, ...options }, 'b');
    const id = report.runs[0]?.testId;
    if (id == null) throw new Error(`not taken: ${JSON.stringify(report.refusal)}`);
    await evaluateTest(test.context, id, { startSoc: 1 });
    return id;
  }
  const cellId = async (testId: number): Promise<number> => {
    const [row] = await selectAll<{ cellId: number }>(
      test.context.store,
      'SELECT cellId FROM Test WHERE id = ?',
      testId,
    );
    return row.cellId;
  };

  it('comes from a capacity test that discharges and charges slowly, the polarisation halved out', async () => {
    const id = await take('A', slowRecord(), { testKind: 'capacity' });
    const found = await openCircuitOf(test.context, await cellId(id));
    expect(found).toMatchObject({ testId: id, curve: { source: 'slow-average' } });
    const { soc = [], ocvV = [], hysteresisV = [] } = found?.curve ?? {};
    expect(soc).toHaveLength(101);
    // The run spans 99.2 % of the capacity: its ends are taken as full and empty.
    soc.forEach((z, i) => {
      const from = 1 - 1190 / 1200;
      expect(Math.abs(ocvV[i] - openCircuitV(from + z * (1 - from)))).toBeLessThan(0.002);
      expect(hysteresisV[i]).toBeCloseTo((2 * SERIES_OHM * CAPACITY_AH) / 20, 2);
    });
  });

  it('is a slow one before that of rests, whichever came first, unless the rests are later in life', async () => {
    const slow = await take('B', slowRecord(), { testKind: 'capacity' });
    const rests = await take('B', pulseRecord(), { testKind: 'pulse' });
    const id = await cellId(slow);
    expect(await cellId(rests)).toBe(id);
    expect(await openCircuitOf(test.context, id)).toMatchObject({
      testId: slow,
      curve: { source: 'slow-average' },
    });
    const { store } = test.context;
    await runSql(store, 'UPDATE Test SET cycle = 300 WHERE id = ?', rests);
    expect(await openCircuitOf(test.context, id)).toMatchObject({
      testId: rests,
      curve: { source: 'rests' },
    });
  });

  it('is the one measured nearest to 25 °C', async () => {
    const cold = await take('C', pulseRecord(), { testKind: 'pulse', temperatureC: 10 });
    const mild = await take('C', pulseRecord(), { testKind: 'pulse', temperatureC: 24 });
    await take('C', pulseRecord(), { testKind: 'pulse', temperatureC: 40 });
    expect(await openCircuitOf(test.context, await cellId(cold))).toMatchObject({
      testId: mild,
      temperatureC: 24,
    });
  });

  it('is a slow one before that of rests at temperatures 2.5 °C apart, which count as one', async () => {
    const slow = await take('E', slowRecord(), { testKind: 'capacity', temperatureC: 22.5 });
    await take('E', pulseRecord(), { testKind: 'pulse', temperatureC: 25 });
    expect(await openCircuitOf(test.context, await cellId(slow))).toMatchObject({ testId: slow });
    const farther = await take('F', slowRecord(), { testKind: 'capacity', temperatureC: 22.4 });
    const rests = await take('F', pulseRecord(), { testKind: 'pulse', temperatureC: 25 });
    expect(await openCircuitOf(test.context, await cellId(farther))).toMatchObject({ testId: rests });
  });

  it('is the one that spans the states of charge, though a short repeat is newer', async () => {
    const whole = await take('G', pulseRecord(), { testKind: 'pulse' });
    await take('G', pulseRecord(2), { testKind: 'pulse' });
    const found = await openCircuitOf(test.context, await cellId(whole));
    expect(found).toMatchObject({ testId: whole, curve: { source: 'rests' } });
  });

  it('is none where no test gave one', async () => {
    const text = pulseRecord().split('\n').slice(0, 100).join('\n');
    const id = await take('D', `${text}\n`, { testKind: 'pulse' });
    expect(await openCircuitOf(test.context, await cellId(id))).toBeNull();
  });
});
