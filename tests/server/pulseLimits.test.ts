import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inTransaction } from '../../server/context.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { insertCell } from '../../server/store/cells.ts';
import { makeLot } from '../support/basics.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { storePulseFit } from './exportStore.ts';
import { pulseRecord } from './pulseRecordFixture.ts';

let test: TestApp;
let cellId: number;
beforeAll(async () => {
  test = await openTestApp();
  const { lot } = await makeLot(test.context, { cellType: { maxChargeCurrentA: 30 } });
  const createdAt = test.context.now().toISOString();
  cellId = await insertCell(test.context.store, {
    lotId: lot.id,
    serial: 'A',
    note: '',
    createdAt,
    sourceFileId: null,
  });
});
afterAll(async () => test.close());

/** A record whose OCV rises by 1 V from empty to full, with one pair of pulses at half charge: 10 mΩ out, 20 mΩ in. */
function record(): EvaluatedPulseRecord {
  const base = pulseRecord(1);
  return {
    ...base,
    settings: { ...base.settings, minVoltageV: 3, maxVoltageV: 4 },
    openCircuit: {
      source: 'rests',
      soc: [0, 0.5, 1],
      ocvV: [3, 3.5, 4],
      standardUncertaintyV: [1e-4, 1e-4, 1e-4],
      slopeV: [1, 1, 1],
      hysteresisV: [null, null, null],
    },
    pulsePowers: [
      {
        dischargePulseIndex: 0,
        chargePulseIndex: 1,
        socBefore: 0.5,
        dischargeDurationS: 30,
        dischargeResistanceOhm: 0.01,
        dischargeStandardUncertaintyOhm: null,
        dischargeOcvV: 3.5,
        dischargePowerW: null,
        dischargeReason: null,
        chargeDurationS: 10,
        chargeResistanceOhm: 0.02,
        chargeStandardUncertaintyOhm: null,
        chargeOcvV: 3.5,
        chargePowerW: null,
        chargeReason: null,
        method: 'invented for a test',
      },
    ],
  };
}

async function store(result: EvaluatedPulseRecord): Promise<number> {
  return inTransaction(test.context, async (context) => {
    const testId = (
      await runSql(
        context.store,
        `INSERT INTO Test (cellId, kind, state, createdAt) VALUES (?, 'pulse', 'sealed', ?)`,
        cellId,
        test.context.now().toISOString(),
      )
    ).id;
    await storePulseFit(context, testId, result, 2);
    return testId;
  });
}
const limits = (testId: number, query = '') =>
  request(test.app).get(`/api/v1/tests/${testId}/pulse-limits${query}`);

describe('the largest pulse currents', () => {
  it('keep voltage limits with the OCV on the move, the SOC window and the rating, for the measured durations', async () => {
    const { status, body } = await limits(await store(record()));
    expect([status, body.reason]).toEqual([200, null]);
    const [{ discharge, charge }] = body.items;
    // 0.5 V over 10 mΩ and 30 s of 1 V per 7,200 A·s; 0.5 · 7,200 A·s in 30 s.
    expect(discharge).toMatchObject({ pulseIndex: 0, durationS: 30, binding: 'voltage', ratingA: null });
    expect(discharge.currentA).toBeCloseTo(0.5 / (0.01 + 30 / 7200), 9);
    expect(discharge.socLimitA).toBeCloseTo(120, 9);
    // 0.5 V over 20 mΩ and 10 s would be 23.4 A, below the datasheet's 30 A.
    expect(charge.currentA).toBeCloseTo(0.5 / (0.02 + 10 / 7200), 9);
    expect(charge).toMatchObject({ pulseIndex: 1, durationS: 10, binding: 'voltage', ratingA: 30 });
  });

  it('never exceed the datasheet, and stop at the window of the state of charge', async () => {
    await runSql(test.context.store, 'UPDATE CellType SET maxChargeCurrentA = 4');
    const testId = await store(record());
    const { body } = await limits(testId, '?socMin=0.499');
    expect(body.items[0].charge).toMatchObject({ currentA: 4, binding: 'rating' });
    expect(body.items[0].discharge.binding).toBe('soc');
    expect(body.items[0].discharge.currentA).toBeCloseTo((0.001 * 7200) / 30, 9);
    const empty = await limits(testId, '?socMin=0.8&socMax=0.2');
    expect([empty.status, empty.body.errors[0].field]).toEqual([400, 'socMax']);
  });

  it('have a reason where they cannot be told', async () => {
    const whole = record();
    const reasonOf = async (result: EvaluatedPulseRecord) => (await limits(await store(result))).body.reason;
    expect(await reasonOf({ ...whole, settings: { ...whole.settings, minVoltageV: null } })).toBe(
      'limits-not-stated',
    );
    expect(await reasonOf({ ...whole, openCircuit: null })).toBe('no-open-circuit-curve');
    expect(await reasonOf({ ...whole, pulsePowers: [] })).toBe('no-pulse-pairs');
    expect(await reasonOf({ ...whole, settings: { ...whole.settings, ratedCapacityAh: null } })).toBe(
      'no-rated-capacity',
    );
  });
});
