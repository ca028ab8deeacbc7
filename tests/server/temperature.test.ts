import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CellTypeTemperature, TemperatureLaw } from '../../server/contract/temperature.ts';
import { insertCell } from '../../server/store/cells.ts';
import { makeLot } from '../support/basics.ts';
import { runSql, selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
let lotId: number;
let cellTypeId: number;
const cellIds: number[] = [];

const GAS_CONSTANT_J_PER_MOL_K = 8.314462618;
const activationJPerMol = 21_000;

/** 25 mΩ at 25 °C, by the law that is to be found again. */
function lawOhm(celsius: number): number {
  const inverse = 1 / (celsius + 273.15) - 1 / 298.15;
  return 0.025 * Math.exp((activationJPerMol / GAS_CONSTANT_J_PER_MOL_K) * inverse);
}

async function addResistance(
  cellId: number,
  celsius: number,
  ohm: number,
  durationS = 10,
  direction = 'discharge',
  currentA: number | null = null,
) {
  await runSql(
    test.context.store,
    `INSERT INTO Measurement (cellId, quantity, unit, value, soc, temperatureC, direction, durationS, currentA, method,
       createdAt) VALUES (?, 'resistance', 'Ohm', ?, 0.5, ?, ?, ?, ?, 'invented for a test', ?)`,
    cellId,
    ohm,
    celsius,
    direction,
    durationS,
    currentA,
    test.context.now().toISOString(),
  );
}

const path = () => `/api/v1/cell-types/${cellTypeId}/temperature`;
const lawOf = (answer: CellTypeTemperature, key: string): TemperatureLaw => {
  const found = answer.dependence.laws.find((law) => law.key === key);
  if (!found) throw new Error(`no law for ${key}`);
  return found;
};

beforeAll(async () => {
  test = await openTestApp();
  const made = await makeLot(test.context);
  lotId = made.lot.id;
  cellTypeId = made.cellType.id;
  const at = test.context.now().toISOString();
  for (const serial of ['A', 'B', 'C']) {
    cellIds.push(
      await insertCell(test.context.store, { lotId, serial, note: '', createdAt: at, sourceFileId: null }),
    );
  }
});
afterAll(async () => test.close());

describe('the temperature dependence of a cell type', () => {
  it('is not there before it is assessed, and is refused without resistances that state a temperature', async () => {
    const before = await request(test.app).get(path());
    expect([before.status, before.body]).toEqual([200, null]);
    const refused = await request(test.app).post(path());
    expect([refused.status, refused.body.code]).toEqual([422, 'not-evaluable']);
    expect((await request(test.app).get('/api/v1/cell-types/999/temperature')).status).toBe(404);
  });

  it('gives activation energy and resistance at the reference with their errors, from cells that differ', async () => {
    for (const [i, factor] of [0.99, 1.0, 1.01].entries()) {
      for (const celsius of [0, 10, 25, 40])
        await addResistance(cellIds[i], celsius, factor * lawOhm(celsius));
    }
    const made = await request(test.app).post(path());
    expect(made.status).toBe(201);
    const law = lawOf(made.body, 'resistance/10s/discharge/soc50');
    expect(law).toMatchObject({ readings: 12, cells: 3, basis: 'same-cells', lowestC: 0, highestC: 40 });
    expect(law).toMatchObject({ referenceC: 25, referenceExtrapolated: false, fallsThroughout: true });
    // Each cell has a level of its own: the energy comes out exactly, and the 1 % between the cells is the level's error.
    expect(law.activationJPerMol).toBeCloseTo(activationJPerMol, 3);
    expect(law.referenceOhm).toBeCloseTo(0.025 * (0.99 * 1.01) ** (1 / 3), 9);
    // What is left is what the readings at a temperature have in common: the chamber.
    expect(law.temperatureErrorC).toBeGreaterThan(0.5);
    expect(law.temperatureErrorC).toBeLessThan(0.7);
    expect(law.activationStandardErrorJPerMol).toBeGreaterThan(200);
    expect(law.activationStandardErrorJPerMol).toBeLessThan(700);
    const ofLevel = (law.referenceStandardErrorOhm ?? 0) / law.referenceOhm;
    expect(ofLevel).toBeGreaterThan(0.01 / Math.sqrt(3));
    expect(ofLevel).toBeLessThan(0.02);
    expect(law.points.map(({ temperatureC }) => temperatureC)).toEqual([0, 10, 25, 40]);
    expect(law.points[0].standardDeviationOhm).toBeCloseTo(0.01 * lawOhm(0), 9);
  });

  it('leaves out cells that were measured at one temperature where others were at several', async () => {
    await addResistance(cellIds[0], 25, 0.0125, 2);
    for (const celsius of [0, 25]) await addResistance(cellIds[1], celsius, lawOhm(celsius), 2);
    const { body } = await request(test.app).post(path());
    const law = lawOf(body, 'resistance/2s/discharge/soc50');
    expect(law).toMatchObject({ cells: 1, readings: 2, basis: 'same-cells' });
    expect(law.activationJPerMol).toBeCloseTo(activationJPerMol, 3);
    // Two readings and two parameters leave nothing to tell an error by.
    expect(law.activationStandardErrorJPerMol).toBeNull();
  });

  it('says where different cells stand for different temperatures, and where the reference lies outside', async () => {
    await addResistance(cellIds[0], -10, lawOhm(-10), 18);
    await addResistance(cellIds[1], 0, lawOhm(0), 18);
    await addResistance(cellIds[2], 10, lawOhm(10), 18);
    const { body } = await request(test.app).post(path());
    const law = lawOf(body, 'resistance/18s/discharge/soc50');
    expect(law).toMatchObject({ basis: 'different-cells', referenceExtrapolated: true, highestC: 10 });
  });

  it('forces nothing: a resistance that rises with temperature is shown as it was measured', async () => {
    // R0 of a published cell at 20 and 40 °C lies the other way round (Huria et al., IEVC 2012), so this happens.
    for (const [celsius, ohm] of [
      [5, 0.02],
      [22, 0.018],
      [39, 0.0195],
    ])
      await addResistance(cellIds[0], celsius, ohm, 30);
    const { body } = await request(test.app).post(path());
    const law = lawOf(body, 'resistance/30s/discharge/soc50');
    expect(law.fallsThroughout).toBe(false);
    expect(law.points.map(({ meanOhm }) => meanOhm)).toEqual([0.02, 0.018, 0.0195]);
    expect(law.largestDeviation).toBeGreaterThan(0.02);
  });

  it('names the columns that have no law', async () => {
    await addResistance(cellIds[0], 24, 0.02, 5);
    await addResistance(cellIds[1], 26, 0.021, 5);
    const { body } = await request(test.app).post(path());
    expect(body.dependence.without).toEqual([
      { key: 'resistance/5s/discharge/soc50', reason: 'one-temperature' },
    ]);
  });

  it('says where a law mixes pulses of different currents, and where the currents are not known', async () => {
    for (const [celsius, currentA] of [
      [0, -2],
      [25, -2.4],
    ])
      await addResistance(cellIds[0], celsius, lawOhm(celsius), 0.5, 'discharge', currentA);
    for (const [celsius, currentA] of [
      [0, -2],
      [25, -8],
    ])
      await addResistance(cellIds[0], celsius, lawOhm(celsius), 1, 'discharge', currentA);
    const { body } = await request(test.app).post(path());
    const mixed = (durationS: number) => {
      const { currentsA, mixedCurrents } = lawOf(body, `resistance/${durationS}s/discharge/soc50`);
      return [currentsA, mixedCurrents];
    };
    expect(mixed(0.5)).toEqual([{ lowest: 2, highest: 2.4 }, false]);
    expect(mixed(1)).toEqual([{ lowest: 2, highest: 8 }, true]);
    expect(mixed(30)).toEqual([null, null]);
  });

  it('tells what came and went since it was assessed, until it is assessed again', async () => {
    const since = async () => (await request(test.app).get(path())).body.since;
    expect(await since()).toEqual({ added: 0, gone: 0, referenceChanged: false });
    // A cell at one temperature says nothing beside others that were measured at several.
    await addResistance(cellIds[2], 60, lawOhm(60), 2);
    expect(await since()).toEqual({ added: 0, gone: 0, referenceChanged: false });
    await addResistance(cellIds[0], 55, lawOhm(55));
    await addResistance(cellIds[1], 25, lawOhm(25));
    expect(await since()).toEqual({ added: 2, gone: 1, referenceChanged: false });
    const type = await request(test.app).get(`/api/v1/cell-types/${cellTypeId}`);
    await request(test.app)
      .patch(`/api/v1/cell-types/${cellTypeId}`)
      .set('If-Match', type.headers.etag)
      .send({ referenceTemperatureC: 20 });
    expect(await since()).toEqual({ added: 2, gone: 1, referenceChanged: true });
    const { body } = await request(test.app).post(path());
    expect(body.since).toEqual({ added: 0, gone: 0, referenceChanged: false });
    expect(lawOf(body, 'resistance/10s/discharge/soc50')).toMatchObject({ referenceC: 20, highestC: 55 });
  });

  it('is stored anew each time; the earlier one is kept as superseded', async () => {
    const now = await request(test.app).get(path());
    expect(now.body.fit).toMatchObject({ kind: 'temperature', supersededAt: null });
    const { store } = test.context;
    const older = await selectAll<{ supersededById: number | null }>(
      store,
      `SELECT supersededById FROM Fit WHERE kind = 'temperature' AND id <> ? ORDER BY id`,
      now.body.fit.id,
    );
    expect(older).toHaveLength(6);
    expect(older.every(({ supersededById }) => supersededById !== null)).toBe(true);
  });
});
