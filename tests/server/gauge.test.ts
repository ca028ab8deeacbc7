import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { GaugeStudy } from '../../server/contract/gauge.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { inOrder } from '../../server/inOrder.ts';
import { insertCell } from '../../server/store/cells.ts';
import { refreshPresentValues } from '../../server/store/presentValues.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { crossedReadings } from '../support/crossedReadings.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
});
afterAll(async () => test.close());

const column = 'resistance/10s/discharge/soc50/25C';

/** One pulse test of a cell at a cycle with one resistance. */
async function addReading(cellId: number, ohm: number, cycle: number | null = null): Promise<void> {
  const { store } = test.context;
  const at = test.context.now().toISOString();
  const testId = (
    await runSql(
      store,
      `INSERT INTO Test (cellId, kind, state, temperatureC, cycle, createdAt) VALUES (?, 'pulse', 'sealed', 25, ?, ?)`,
      cellId,
      cycle,
      at,
    )
  ).id;
  await runSql(
    store,
    `INSERT INTO Measurement (cellId, testId, quantity, unit, value, soc, temperatureC, direction, durationS, cycle,
       method, createdAt) VALUES (?, ?, 'resistance', 'Ohm', ?, 0.5, 25, 'discharge', 10, ?, 'invented for a test', ?)`,
    cellId,
    testId,
    ohm,
    cycle,
    at,
  );
  await refreshPresentValues(store, { cellIds: [cellId], quantities: ['resistance'] });
}

async function lotWith(name: string, readings: readonly (readonly number[])[]) {
  const { lot } = await makeLot(test.context, { lot: name });
  const createdAt = test.context.now().toISOString();
  const cellIds = await inOrder(readings, async (own, i) => {
    const cell = { lotId: lot.id, serial: `${name}-${i}`, note: '', createdAt, sourceFileId: null };
    const cellId = await insertCell(test.context.store, cell);
    for (const ohm of own) await addReading(cellId, ohm);
    return cellId;
  });
  return { lotId: lot.id, cellIds };
}

async function study(lotId: number, of = column): Promise<GaugeStudy> {
  const answer = await request(test.app).get(`/api/v1/lots/${lotId}/gauge`).query({ column: of });
  expect(answer.status).toBe(200);
  return answer.body;
}

describe('the gauge study of a lot', () => {
  it('says where it cannot be made: no cell was tested again, or only one was', async () => {
    const none = await study((await lotWith('single', [[0.02], [0.021]])).lotId);
    expect(none).toMatchObject({ verdict: 'unknown', reason: 'no-repeats', repeatability: null, cells: [] });
    const one = await study((await lotWith('one', [[0.02, 0.0202], [0.021]])).lotId);
    expect(one).toMatchObject({ verdict: 'unknown', reason: 'one-cell', trials: 2 });
    // Two readings 0.2 mΩ apart: s = 0.2 mΩ/√2.
    expect(one.repeatability).toBeCloseTo(0.0002 / Math.SQRT2, 12);
  });

  it('gives the components of a worked variance analysis', async () => {
    // Three cells, two readings each: means 19, 20 and 21.5 mΩ, differences 0.2 mΩ within each.
    const readings = [18.9, 19.9, 21.4].map((low) => [low / 1000, (low + 0.2) / 1000]);
    const found = await study((await lotWith('worked', readings)).lotId);
    // Within: 3 x 2 x 0.1² / 3 = 0.02. Between: 2 x (1.1667² + 0.1667² + 1.3333²) / 2 = 3.16667 (mΩ²).
    expect(found.f).toBeCloseTo(3.1666667 / 0.02, 3);
    expect(found.repeatability).toBeCloseTo(Math.sqrt(0.02) / 1000, 9);
    expect(found.betweenCells).toBeCloseTo(Math.sqrt((3.1666667 - 0.02) / 2) / 1000, 8);
    const share = Math.sqrt(0.02) / Math.hypot(Math.sqrt(0.02), Math.sqrt((3.1666667 - 0.02) / 2));
    expect(found.ratio).toBeCloseTo(share, 6);
    expect(found).toMatchObject({ basis: 'study', verdict: 'limited', unit: 'Ohm', reason: null });
    expect(found.pValue).toBeLessThan(0.01);
    // Ranges of 0.2 mΩ over d2* = 1.231 for two trials of three parts (AIAG's table of d2*, from memory).
    expect(found.byRange?.repeatability).toBeCloseTo(0.0002 / 1.231, 7);
    expect(found.distinctCategories).toBe(12);
  });

  it('finds a fixture that cannot tell the cells apart', async () => {
    const readings = [0, 0.02, -0.02, 0.01].map((shift) => [
      (20 + shift - 0.5) / 1000,
      (20 + shift + 0.5) / 1000,
    ]);
    const found = await study((await lotWith('blind', readings)).lotId);
    expect(found).toMatchObject({ verdict: 'not-enough', betweenCells: 0, distinctCategories: 1 });
    expect(found.pValue).toBeGreaterThan(0.5);
  });

  it('holds the repeatability of a few cells against the spread of the whole lot', async () => {
    const repeated = [20, 21, 22].map((middle) => [(middle - 0.05) / 1000, (middle + 0.05) / 1000]);
    const single = [16, 18, 24, 26].map((value) => [value / 1000]);
    const found = await study((await lotWith('whole', [...repeated, ...single])).lotId);
    expect(found).toMatchObject({ basis: 'lot', lotCells: 7, verdict: 'good' });
    expect(found.cells.map(({ serial }) => serial)).toEqual(['whole-0', 'whole-1', 'whole-2']);
    expect(found.ratio).toBeCloseTo((found.repeatability ?? 0) / (found.lotDeviation ?? 1), 12);
  });

  it('takes the newest readings where some cells have more, and none of another age', async () => {
    const { lotId, cellIds } = await lotWith('uneven', [
      [0.0195, 0.02, 0.0201],
      [0.021, 0.0211],
    ]);
    const found = await study(lotId);
    expect(found).toMatchObject({ trials: 2, readingsLeftOut: 1 });
    expect(found.cells[0].readings).toEqual([0.0201, 0.02]);
    await addReading(cellIds[0], 0.03, 200);
    await addReading(cellIds[0], 0.0302, 200);
    const aged = await study(lotId);
    expect(aged.cells[0].readings).toEqual([0.0302, 0.03]);
  });

  it('does not let an outlier of the lot pass for spread that the fixture could tell apart', async () => {
    const repeated = [20, 20.4, 20.8].map((middle) => [(middle - 0.05) / 1000, (middle + 0.05) / 1000]);
    const single = [20.2, 20.6, 21, 30].map((value) => [value / 1000]);
    const found = await study((await lotWith('outlier', [...repeated, ...single])).lotId);
    expect(found).toMatchObject({ basis: 'lot', lotCells: 6, lotOutliers: 1, verdict: 'limited' });
    // With the outlier the spread would be ten times as large and the fixture good.
    expect(found.lotDeviation).toBeLessThan(0.0005);
  });

  it('takes the rows of a cell table that lists its cells again and again, and no other table beside it', async () => {
    const { lot } = await makeLot(test.context, { lot: 'meter' });
    const take = async (rows: readonly string[]) => {
      const text = ['serial,impedance_1kHz_mOhm', ...rows, ''].join('\n');
      const file = { name: 'm.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true };
      const report = await importFile(test.context, file, { lot: 'meter', kind: 'cell-table' }, 'b');
      expect(report.state).toBe('taken');
    };
    await take(['A,15.5', 'B,16.5']);
    expect(await study(lot.id, 'impedance-1khz')).toMatchObject({ reason: 'no-repeats' });
    await take(['A,15.0', 'B,16.0', 'A,15.2', 'B,16.2']);
    const found = await study(lot.id, 'impedance-1khz');
    expect(found).toMatchObject({ trials: 2, reason: null });
    expect(found.cells.map(({ readings }) => readings)).toEqual([
      [expect.closeTo(0.0152, 9), expect.closeTo(0.015, 9)],
      [expect.closeTo(0.0162, 9), expect.closeTo(0.016, 9)],
    ]);
  });

  it('takes the operators of a cell table that names them: the crossed study of the measurement systems manual', async () => {
    const { lot } = await makeLot(test.context, { lot: 'operators' });
    const rows = crossedReadings.flatMap((byOperator, part) =>
      byOperator.flatMap((trials, operator) =>
        // Readings about 0 are moved to 20 mΩ: components do not depend on the level.
        trials.map((value) => `C${part},${'ABC'[operator]},${20 + value}`),
      ),
    );
    const text = ['serial,operator,impedance_1kHz_mOhm', ...rows, ''].join('\n');
    const file = { name: 'o.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true };
    const report = await importFile(test.context, file, { lot: 'operators', kind: 'cell-table' }, 'b');
    expect(report.state).toBe('taken');
    expect(report.mapping).toContainEqual(expect.objectContaining({ role: 'operator', source: 'operator' }));
    const found = await study(lot.id, 'impedance-1khz');
    expect(found).toMatchObject({
      operators: ['A', 'B', 'C'],
      operatorsReason: null,
      trials: 3,
      reason: null,
    });
    expect(1000 * (found.repeatability ?? 0)).toBeCloseTo(0.199933, 6);
    expect(1000 * (found.crossed?.reproducibility ?? 0)).toBeCloseTo(0.226838, 6);
    expect(1000 * (found.crossed?.gauge ?? 0)).toBeCloseTo(0.302373, 5);
    expect(1000 * (found.betweenCells ?? 0)).toBeCloseTo(1.042327, 6);
    expect(1000 * (found.crossed?.gaugeByRange ?? 0)).toBeCloseTo(0.30575, 3);
    // 0.3024 of a total of 1.0853: between 10 and 30 %.
    expect(found.ratio).toBeCloseTo(0.27861, 4);
    expect(found).toMatchObject({ verdict: 'limited', ratioInterval: null });
  });

  it('says why operators that did not all measure two cells twice are not regarded', async () => {
    const { lot } = await makeLot(test.context, { lot: 'not-crossed' });
    const rows = ['A,ann,15', 'A,ann,15.1', 'B,bob,16', 'B,bob,16.1'];
    const text = ['serial,operator,impedance_1kHz_mOhm', ...rows, ''].join('\n');
    const file = { name: 'n.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true };
    await importFile(test.context, file, { lot: 'not-crossed', kind: 'cell-table' }, 'b');
    const found = await study(lot.id, 'impedance-1khz');
    expect(found).toMatchObject({
      operators: null,
      operatorsReason: 'not-crossed',
      crossed: null,
      trials: 2,
    });
  });

  it('refuses what is no column or no lot', async () => {
    const { lotId } = await lotWith('refusals', []);
    const answer = await request(test.app).get(`/api/v1/lots/${lotId}/gauge`).query({ column: 'length' });
    expect([answer.status, answer.body.errors[0].field]).toEqual([400, 'column']);
    expect((await request(test.app).get(`/api/v1/lots/${lotId}/gauge`)).status).toBe(400);
    expect((await request(test.app).get('/api/v1/lots/999/gauge').query({ column })).status).toBe(404);
  });
});
