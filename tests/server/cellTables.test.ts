import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CellTable } from '../../server/contract/cellTables.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { fillStore, storePulseFit } from './exportStore.ts';
import { pulseRecord } from './pulseRecordFixture.ts';

let test: TestApp;
let cellId: number;
let bareCellId: number;
let firstTestId: number;

/** A pulse test of the cell, evaluated: five charge pulses whose resistances are `scale` times the fixture's. */
async function addTest(
  temperatureC: number | null,
  scale: number,
  pulses = pulseRecord(scale),
): Promise<number> {
  const { store } = test.context;
  return store.transaction(async (store) => {
    const testId = (
      await runSql(
        store,
        `INSERT INTO Test (cellId, kind, state, label, temperatureC, instrument, createdAt)
       VALUES (?, 'pulse', 'sealed', 'pulses', ?, 'bench', ?)`,
        cellId,
        temperatureC,
        test.context.now().toISOString(),
      )
    ).id;
    await storePulseFit({ ...test.context, store }, testId, pulses, 2);
    return testId;
  });
}

async function tables(query = '') {
  const answer = await request(test.app).get(`/api/v1/cells/${cellId}/tables${query}`);
  expect(answer.status).toBe(200);
  return answer.body;
}

function rowAt(table: CellTable, temperatureC: number, soc: number): CellTable['rows'][number] {
  const row = table.rows.find((one) => one.temperatureC === temperatureC && Math.abs(one.soc - soc) < 1e-9);
  if (!row) throw new Error(`no row at ${temperatureC} °C and ${soc}`);
  return row;
}

beforeAll(async () => {
  test = await openTestApp();
  const filled = await fillStore(test.context);
  // The second cell's fixture has the scale 1 and was tested at 25 °C.
  cellId = filled.cellIds[1];
  firstTestId = filled.testIds[1];
  bareCellId = filled.bareCellId;
});
afterAll(async () => test.close());

describe('the tables of a cell over SOC and temperature', () => {
  it('say why there are none', async () => {
    const bare = await request(test.app).get(`/api/v1/cells/${bareCellId}/tables`);
    expect(bare.body).toEqual({ cellId: bareCellId, tables: [], leftOut: [], reason: 'no-fitted-pulses' });
    expect((await request(test.app).get('/api/v1/cells/999/tables')).status).toBe(404);
  });

  it('hold each parameter with its unit, flagged outside the measured states of charge and held there', async () => {
    const { tables: found } = await tables();
    expect(found).toHaveLength(1);
    const [table] = found as CellTable[];
    expect(table).toMatchObject({ direction: 'charge', measuredTemperatureC: [25] });
    expect(table.measuredSoc).toHaveLength(5);
    expect(table.rows).toHaveLength(21);
    const pulses = pulseRecord(1).pulses;
    const measured = rowAt(table, 25, 0.5).values;
    expect(measured.r0Ohm).toEqual({ value: pulses[2].circuit?.r0Ohm, flag: 'inside' });
    expect(measured.tau2S).toEqual({ value: pulses[2].circuit?.tau2S, flag: 'inside' });
    expect(measured.ocvV.value).toBe(pulses[2].circuit?.ocvV);
    expect(measured.r3Ohm).toEqual({ value: null, flag: 'hole' });
    const between = rowAt(table, 25, 0.4).values.ocvV;
    expect(between.value).toBeCloseTo((3.62 + 3.705) / 2, 9);
    expect(rowAt(table, 25, 1).values.r0Ohm).toEqual({
      value: pulses[4].circuit?.r0Ohm,
      flag: 'outside-soc',
    });
  });

  it('interpolate between two temperatures and flag what lies beyond them', async () => {
    const cold = await addTest(5, 2);
    const { tables: found, leftOut } = await tables('?temperaturesC=-10,5,15,25&socStep=0.1');
    const [table] = found as CellTable[];
    expect(leftOut).toEqual([]);
    expect(table.measuredTemperatureC).toEqual([5, 25]);
    expect(table.origins.map(({ testId }) => testId).sort()).toEqual([firstTestId, cold].sort());
    const at = (celsius: number) => rowAt(table, celsius, 0.5).values.r0Ohm;
    expect(at(15).flag).toBe('inside');
    expect(at(15).value).toBeCloseTo(((at(5).value ?? 0) + (at(25).value ?? 0)) / 2, 12);
    expect(at(5).value).toBeGreaterThan(at(25).value ?? 0);
    expect(at(-10)).toEqual({ value: at(5).value, flag: 'outside-temperature' });
    expect(rowAt(table, -10, 0).values.r0Ohm.flag).toBe('outside-both');
  });

  it('do not interpolate across a reading that lacks the parameter', async () => {
    const record = pulseRecord(1);
    const pulses = record.pulses.map((pulse, i) =>
      i === 2 && pulse.circuit
        ? { ...pulse, circuit: { ...pulse.circuit, branches: 1, r2Ohm: null, tau2S: null } }
        : pulse,
    );
    const newer = await addTest(25, 1, { ...record, pulses });
    const { tables: found, leftOut } = await tables();
    const [table] = found as CellTable[];
    expect(leftOut).toEqual([{ testId: firstTestId, direction: 'charge', reason: 'newer-test' }]);
    expect(table.origins[0].testId).toBe(newer);
    const measured = table.measured.filter(({ temperatureC }) => temperatureC === 25);
    expect(measured.map(({ soc }) => soc)).toEqual(table.measuredSoc);
    expect(measured.map(({ values }) => values.r2Ohm === null)).toEqual([false, false, true, false, false]);
    expect(measured[2].values.r1Ohm).toBe(pulses[2].circuit?.r1Ohm);
    expect(rowAt(table, 25, 0.4).values.r2Ohm).toEqual({ value: null, flag: 'hole' });
    expect(rowAt(table, 25, 0.4).values.r1Ohm.flag).toBe('inside');
    expect(rowAt(table, 25, 0.2).values.r2Ohm.flag).toBe('inside');
  });

  it('are not displaced by a short repeat at one state of charge', async () => {
    const before = await tables();
    const record = pulseRecord(1.3);
    const repeat = await addTest(25, 1.3, { ...record, pulses: record.pulses.slice(2, 3) });
    const { tables: found, leftOut } = await tables();
    expect(found).toEqual(before.tables);
    expect(leftOut).toContainEqual({ testId: repeat, direction: 'charge', reason: 'fewer-states' });
  });

  it('refuse temperatures that are none, and name the field', async () => {
    const answer = await request(test.app).get(`/api/v1/cells/${cellId}/tables?temperaturesC=warm`);
    expect(answer.status).toBe(400);
    expect(answer.body.errors[0]).toMatchObject({ field: 'temperaturesC' });
  });
});
