import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { readEvaluation } from '../../server/use-cases/evaluation/readEvaluation.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { restoreImport } from '../../server/use-cases/imports/restoreImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { readParameters } from '../../server/use-cases/parameters/readParameters.ts';
import { changeMeasurement } from '../../server/use-cases/register/changeMeasurement.ts';
import { selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
});
afterAll(() => test.close());

/** From full: 1 Ah out of the cell, a rest, a discharge pulse of 20 s, a rest. */
function record(cell: string): string {
  const lines = [`Cell: ${cell}`, 'time_s,voltage_V,current_A'];
  let timeS = 0;
  let slow = 0;
  const row = (currentA: number, everyS: number) => {
    slow += (0.015 * currentA - slow) * (1 - Math.exp(-everyS / 12));
    const ripple = 2e-5 * Math.sin(12.9898 * timeS);
    lines.push(`${timeS},${(3.75 + 0.02 * currentA + slow + ripple).toFixed(5)},${currentA}`);
    timeS += everyS;
  };
  for (let i = 0; i < 30; i++) row(0, 1);
  for (let i = 0; i < 360; i++) row(-1, 10);
  for (let i = 0; i < 300; i++) row(0, 1);
  for (let i = 0; i < 20; i++) row(-2, 1);
  for (let i = 0; i < 300; i++) row(0, 1);
  return `${lines.join('\n')}\n`;
}

async function take(name: string, text: string, options: { cell?: string; testKind?: 'pulse' }) {
  const file = { name, open: async () => bufferSource(Buffer.from(text)), rereadable: true };
  const report = await importFile(test.context, file, { lot: 'L-1', ...options }, 'b');
  expect(report.refusal).toBeNull();
  return report;
}

async function evaluate(cell: string, settings: Parameters<typeof evaluateTest>[2]): Promise<number> {
  const { runs } = await take(`${cell}.csv`, record(cell), { cell, testKind: 'pulse' });
  const testId = runs[0].testId as number;
  await evaluateTest(test.context, testId, settings);
  return testId;
}

async function socsOf(testId: number): Promise<number[]> {
  const rows = await selectAll<{ soc: number }>(
    test.context.store,
    `SELECT DISTINCT soc FROM Measurement WHERE testId = ${testId} AND quantity = 'resistance' AND supersededAt IS NULL`,
  );
  return rows.map(({ soc }) => soc);
}

async function pulseSoc(testId: number): Promise<number | null> {
  const { evaluation } = await readEvaluation(test.context, testId);
  if (evaluation.kind !== 'pulse') throw new Error(`The test was evaluated as ${evaluation.kind}`);
  return evaluation.result.pulses[evaluation.result.pulses.length - 1].socBefore;
}

// The lot's cell type is rated 2.5 Ah; the cell gives 2 Ah. One ampere-hour out of it leaves 60 % of the one, 50 % of the other.
describe('the state of charge of a pulse', () => {
  it('is counted in the rated capacity until the cell has its own, follows that one, and falls back when it goes', async () => {
    const testId = await evaluate('S-1', { startSoc: 1, ratedCapacityAh: 2.5 });
    expect((await socsOf(testId))[0]).toBeCloseTo(0.6, 2);

    const table = await take('capacity.csv', 'serial,capacity_Ah\nS-1,2.0\n', {});
    expect(await socsOf(testId)).toHaveLength(1);
    expect((await socsOf(testId))[0]).toBeCloseTo(0.5, 2);
    expect(await pulseSoc(testId)).toBeCloseTo(0.5, 2);

    const [{ id, cellId }] = await selectAll<{ id: number; cellId: number }>(
      test.context.store,
      `SELECT id, cellId FROM Measurement WHERE quantity = 'capacity'`,
    );
    const { cells } = await readParameters(test.context, 'cell', cellId);
    const exported = cells[0].measurements.filter(
      (one) => one.testId === testId && one.condition.soc !== null,
    );
    expect(exported.map(({ condition }) => condition.soc)).toContainEqual(expect.closeTo(0.5, 2));
    expect(cells[0].circuits[0].rows[0].soc).toBeCloseTo(0.5, 2);

    await changeMeasurement(test.context, id, { excludedReason: 'wrong cut-off' });
    expect((await socsOf(testId))[0]).toBeCloseTo(0.6, 2);
    expect(await pulseSoc(testId)).toBeCloseTo(0.6, 2);
    await changeMeasurement(test.context, id, { excludedReason: null });
    expect((await socsOf(testId))[0]).toBeCloseTo(0.5, 2);

    await undoImport(test.context, table.sourceFileId as number);
    expect((await socsOf(testId))[0]).toBeCloseTo(0.6, 2);
    await restoreImport(test.context, table.sourceFileId as number);
    expect((await socsOf(testId))[0]).toBeCloseTo(0.5, 2);
  });

  it('is counted in the own capacity from the beginning where that is measured, and then puts cells of one state in one column', async () => {
    await take('cells.csv', 'serial,capacity_Ah\nS-2,2.0\n', {});
    const testId = await evaluate('S-2', { startSoc: 1, ratedCapacityAh: 2.5 });
    const { evaluation } = await readEvaluation(test.context, testId);
    expect(evaluation.kind === 'pulse' && evaluation.result.settings.cellCapacityAh).toBe(2);
    expect(await pulseSoc(testId)).toBeCloseTo(0.5, 2);
    expect((await socsOf(testId))[0]).toBeCloseTo(0.5, 2);
  });

  it('is counted from where the record is full, whichever capacity it is counted in', async () => {
    const lines = ['Cell: S-4', 'time_s,voltage_V,current_A'];
    let timeS = 0;
    let slow = 0;
    const row = (voltageV: number, currentA: number, everyS: number) => {
      slow += (0.015 * currentA - slow) * (1 - Math.exp(-everyS / 12));
      lines.push(
        `${timeS},${(voltageV + 2e-5 * Math.sin(12.9898 * timeS)).toFixed(5)},${currentA.toFixed(4)}`,
      );
      timeS += everyS;
    };
    for (let i = 0; i < 60; i++) row(3.8, 0, 1);
    for (let i = 0; i < 120; i++) row(3.9 + 0.0025 * i, 1, 10);
    for (let i = 0; i < 300; i++) row(4.2, Math.exp(-i / 60), 10);
    for (let i = 0; i < 60; i++) row(4.19, 0, 1);
    for (let i = 0; i < 360; i++) row(4.15 - 0.001 * i, -1, 10);
    for (let i = 0; i < 300; i++) row(3.8, 0, 1);
    for (let i = 0; i < 20; i++) row(3.8 - 0.04 + slow, -2, 1);
    for (let i = 0; i < 300; i++) row(3.8 + slow, 0, 1);
    const { runs } = await take('full.csv', `${lines.join('\n')}\n`, { cell: 'S-4', testKind: 'pulse' });
    const testId = runs[0].testId as number;
    const { evaluation } = await evaluateTest(test.context, testId, {
      ratedCapacityAh: 2.5,
      maxVoltageV: 4.2,
    });
    expect(evaluation.kind === 'pulse' && evaluation.result.record.startSocBasis).toBe('reaches-full');
    // Rows every 10 s whose current changes, and quick ones whose current is steady, are not a current that is renewed every 10 s.
    const codes = evaluation.kind === 'pulse' ? evaluation.result.warnings.map(({ code }) => code) : null;
    expect(codes).toEqual(expect.not.arrayContaining(['readings-repeated']));
    expect((await socsOf(testId))[0]).toBeCloseTo(0.6, 2);
    await take('full-capacity.csv', 'serial,capacity_Ah\nS-4,2.0\n', {});
    expect((await socsOf(testId))[0]).toBeCloseTo(0.5, 2);
    expect(await pulseSoc(testId)).toBeCloseTo(0.5, 2);
  });

  it('stays where a capacity was stated for the evaluation, whatever is measured of the cell', async () => {
    const testId = await evaluate('S-3', { startSoc: 1, ratedCapacityAh: 2.5, cellCapacityAh: 4 });
    await take('later.csv', 'serial,capacity_Ah\nS-3,2.0\n', {});
    expect((await socsOf(testId))[0]).toBeCloseTo(0.75, 2);
    expect(await pulseSoc(testId)).toBeCloseTo(0.75, 2);
  });

  it('of a table whose header counts in the nominal capacity is put on the scale of the cell', async () => {
    const head = 'serial,soc_nominal_percent,capacity_Ah,resistance_10s_mohm';
    await take('nominal.csv', `${head}\nN-1,40,2.0,31\nN-1,20,2.0,33\n`, {});
    await take('stated.csv', `${head.replace('_nominal', '')}\nN-2,40,2.0,31\n`, {});
    const rows = await selectAll<{ serial: string; soc: number }>(
      test.context.store,
      `SELECT c.serial, m.soc FROM Measurement m JOIN Cell c ON c.id = m.cellId
       WHERE m.quantity = 'resistance' AND c.serial LIKE 'N-%' ORDER BY m.id`,
    );
    const ratio = (await ratedCapacityAh()) / 2;
    expect(rows.map(({ serial, soc }) => [serial, Number(soc.toFixed(6))])).toEqual([
      ['N-1', Number((0.4 * ratio).toFixed(6))],
      ['N-1', Number((0.2 * ratio).toFixed(6))],
      ['N-2', 0.4],
    ]);
    expect(ratio).not.toBe(1);
  });
});

async function ratedCapacityAh(): Promise<number> {
  const [{ rated }] = await selectAll<{ rated: number }>(
    test.context.store,
    'SELECT ratedCapacityAh AS rated FROM CellType',
  );
  return rated;
}
