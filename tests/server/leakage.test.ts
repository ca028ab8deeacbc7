import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Measurement } from '../../server/contract/measurements.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { insertCell } from '../../server/store/cells.ts';
import { findFit } from '../../server/store/fits.ts';
import { evaluateLot } from '../../server/use-cases/evaluation/evaluateLot.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { runSql, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { importPulseFile, storePulseFit } from './exportStore.ts';
import { pulseRecord } from './pulseRecordFixture.ts';

let test: TestApp;
let lotId: number;
beforeAll(async () => {
  test = await openTestApp();
  lotId = (await makeLot(test.context, { lot: 'L' })).lot.id;
});
afterAll(async () => test.close());

async function addCell(serial: string): Promise<number> {
  const createdAt = test.context.now().toISOString();
  return insertCell(test.context.store, { lotId, serial, note: '', createdAt, sourceFileId: null });
}

/** An evaluated pulse test with this open-circuit curve, and a capacity of 2 Ah ± 2 mAh. */
async function addCurve(cellId: number, openCircuit: EvaluatedPulseRecord['openCircuit']): Promise<number> {
  const { store } = test.context;
  const at = test.context.now().toISOString();
  return store.transaction(async (store) => {
    const testId = (
      await runSql(
        store,
        `INSERT INTO Test (cellId, kind, state, temperatureC, createdAt) VALUES (?, 'pulse', 'sealed', 25, ?)`,
        cellId,
        at,
      )
    ).id;
    return storePulseFit({ ...test.context, store }, testId, { ...pulseRecord(1), openCircuit }, 2);
  });
}

/** A curve through three points, each known to 0.3 mV. */
const curve = (ocvV: number[]): EvaluatedPulseRecord['openCircuit'] => ({
  source: 'rests',
  soc: [0, 0.5, 1],
  ocvV,
  standardUncertaintyV: [3e-4, 3e-4, 3e-4],
  slopeV: [1, 1, 1],
  hysteresisV: [null, null, null],
});

/** Imports 24 h of rest in a chamber from a voltage, falling by so many mV a day; returns the test's identifier. */
async function importRest(cell: string, startV: number, perDayMv: number, hours = 24): Promise<number> {
  const rows = Array.from(
    { length: hours * 60 + 1 },
    (_, i) => `${60 * i},${(startV - (perDayMv * i) / 1.44e6).toFixed(7)},0,${25 + (i % 2) / 1000}`,
  );
  const bytes = Buffer.from(`time_s,voltage_V,current_A,temperature_C\n${rows.join('\n')}\n`);
  const file = { name: `${cell} rest.csv`, open: async () => bufferSource(bytes), rereadable: true };
  const report = await importFile(test.context, file, { lot: 'L', cell, testKind: 'rest' }, 'b');
  expect(report).toMatchObject({ state: 'taken' });
  return report.runs[0].testId as number;
}

async function leakage(cellId: number): Promise<Measurement> {
  const { body } = await request(test.app).get(
    `/api/v1/cells/${cellId}/measurements?quantity=leakage-current`,
  );
  expect(body.items).toHaveLength(1);
  return body.items[0];
}

async function evaluated(cell: string, startV: number, hours?: number): Promise<number> {
  const testId = await importRest(cell, startV, 2, hours);
  expect((await request(test.app).post(`/api/v1/tests/${testId}/evaluate`).send({})).status).toBe(200);
  return testId;
}

describe('the leakage equivalent of a rest', () => {
  it('is capacity times drift over the slope of the cell’s open-circuit curve, with its uncertainty and origin', async () => {
    const cellId = await addCell('straight');
    const fitId = await addCurve(cellId, curve([3, 3.5, 4]));
    await evaluated('straight', 3.702);
    const found = await leakage(cellId);
    // 2 Ah · 2 mV/d / 1 V / 24 h/d.
    const currentA = (2 * 0.002) / 24;
    expect(found).toMatchObject({ unit: 'A', reason: null });
    expect(found.value).toBeCloseTo(currentA, 8);
    expect(found.soc).toBeCloseTo(0.7, 6);
    // 0.1 % of the capacity and √2 · 0.3 mV over half the SOC range of the slope; of the drift only what moves unseen
    // within one step of the readings (1.3 µV from row to row) over half a day.
    const ofDrift = (Math.SQRT2 * 1.3e-6) / Math.PI / 0.5 / 0.002;
    const share = Math.hypot(0.001, (Math.SQRT2 * 3e-4) / 0.5, ofDrift);
    expect((found.standardUncertainty ?? 0) / currentA / share).toBeCloseTo(1, 1);
    const fit = await findFit(test.context.store, found.fitId as number);
    expect(JSON.parse(fit?.inputsJson ?? '{}')).toMatchObject({ openCircuitFitId: fitId });
  });

  it('has a reason where it cannot be told', async () => {
    const bare = await addCell('bare');
    await evaluated('bare', 3.701);
    expect(await leakage(bare)).toMatchObject({ value: null, reason: 'no-capacity-measured' });

    const without = await addCell('without');
    await addCurve(without, null);
    await evaluated('without', 3.703);
    expect(await leakage(without)).toMatchObject({ value: null, reason: 'no-open-circuit-curve' });

    const beyond = await addCell('beyond');
    await addCurve(beyond, curve([3, 3.5, 4]));
    await evaluated('beyond', 4.1);
    expect(await leakage(beyond)).toMatchObject({ value: null, reason: 'outside-open-circuit-curve' });

    const flat = await addCell('flat');
    await addCurve(flat, curve([3.7, 3.7001, 3.7102]));
    await evaluated('flat', 3.70205, 24);
    expect(await leakage(flat)).toMatchObject({ value: null, reason: 'flat-open-circuit-curve' });

    const short = await addCell('short');
    await addCurve(short, curve([3, 3.5, 4]));
    await evaluated('short', 3.6, 0.5);
    expect(await leakage(short)).toMatchObject({ value: null, reason: 'rest-too-short' });
  });

  it('is superseded when the rest is evaluated again, and known at once where a lot is evaluated', async () => {
    const cellId = await addCell('lot');
    await importRest('lot', 3.55, 3);
    await importPulseFile(test.context, 'L', 'lot');
    // The rest came first, yet it is evaluated after the pulses.
    await evaluateLot(test.context, lotId, { onlyNotEvaluated: true });
    expect((await leakage(cellId)).reason).toBe('no-capacity-measured');
    const all = await selectOne<{ n: number }>(
      test.context.store,
      `SELECT COUNT(*) AS n FROM Fit f JOIN Test x ON x.id = f.testId WHERE f.cellId = ? AND x.kind = 'rest'
         AND f.id > (SELECT MAX(id) FROM Fit WHERE cellId = ? AND kind = 'pulse')`,
      cellId,
      cellId,
    );
    expect(all?.n).toBe(1);
    await runSql(
      test.context.store,
      `INSERT INTO Measurement (cellId, quantity, unit, value, method, createdAt)
       VALUES (?, 'capacity', 'A.h', 2, 'invented for a test', ?)`,
      cellId,
      test.context.now().toISOString(),
    );
    await evaluateLot(test.context, lotId, { onlyNotEvaluated: false });
    const found = await leakage(cellId);
    // The pulse file's open-circuit voltage rises by 0.8 V from empty to full, but no start of charge is stated.
    expect(found.reason).toBe('no-open-circuit-curve');
  });
});
