import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { insertCell } from '../../server/store/cells.ts';
import { findRecord, readRecord } from '../../server/store/records.ts';
import { selectOne } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
let cellId: number;

beforeAll(async () => {
  test = await openTestApp();
  const lotId = await makeLot(test.context.store, 'L-1');
  cellId = await insertCell(test.context.store, {
    lotId,
    serial: 'C-1',
    note: '',
    createdAt: '2026-01-01',
    sourceFileId: null,
  });
});
afterAll(async () => test.close());

const api = () => request(test.app);
const send = (testId: number, key: string, body: object) =>
  api().post(`/api/v1/tests/${testId}/samples`).set('Idempotency-Key', key).send(body);
const samples = (firstRow: number, count: number) => ({
  firstRow,
  timeS: Array.from({ length: count }, (_, i) => (firstRow + i) / 10),
  voltageV: Array.from({ length: count }, (_, i) => 3.7 + ((firstRow + i) % 7) / 1000 + 0.1 - 0.1),
  currentA: Array.from({ length: count }, (_, i) => ((firstRow + i) % 3) - 1),
});

async function open(): Promise<number> {
  const { status, body } = await api().post(`/api/v1/cells/${cellId}/live-tests`).send({ kind: 'pulse' });
  expect(status).toBe(201);
  expect(body).toMatchObject({ state: 'open', rowCount: 0, lastTimeS: null });
  return body.testId;
}

describe('a live record', () => {
  it('grows batch by batch, knows where it stands, and is exact when it is closed', async () => {
    const testId = await open();
    const whole = samples(0, 12_000);
    for (let from = 0; from < 12_000; from += 1500) {
      const { status, body } = await send(testId, `k${from}`, samples(from, 1500));
      expect(status).toBe(200);
      expect(body).toMatchObject({ rowCount: from + 1500, repeated: false });
    }
    expect((await api().get(`/api/v1/tests/${testId}/samples`)).body).toMatchObject({
      rowCount: 12_000,
      lastTimeS: 1199.9,
    });
    expect((await api().post(`/api/v1/tests/${testId}/close`)).body).toMatchObject({ state: 'sealed' });
    const record = (await findRecord(test.context.store, testId))!;
    expect(record).toMatchObject({ state: 'sealed', rowCount: 12_000, durationS: 1199.9 });
    const { timeS, voltageV, currentA } = await readRecord(test.context.store, record);
    expect([...timeS]).toEqual(whole.timeS);
    expect([...voltageV]).toEqual(whole.voltageV);
    expect([...currentA]).toEqual(whole.currentA);
    const chunks = await selectOne<{ n: number }>(
      test.context.store,
      'SELECT COUNT(*) AS n FROM RecordChunk WHERE recordId = ?',
      record.id,
    );
    expect(chunks!.n).toBeLessThanOrEqual(9);
  });

  it('takes one of several batches that come at once for the same rows, and a repeated one once', async () => {
    const testId = await open();
    const keys = ['a', 'b', 'c', 'a', 'b', 'c'];
    const answers = await Promise.all(keys.map((key) => send(testId, key, samples(0, 10))));
    const taken = answers.filter(({ status }) => status === 200);
    expect(taken.filter(({ body }) => !body.repeated)).toHaveLength(1);
    expect(answers.filter(({ status }) => status === 409)).toHaveLength(4);
    expect(taken).toHaveLength(2);
    expect((await api().get(`/api/v1/tests/${testId}/samples`)).body).toMatchObject({ rowCount: 10 });
  });

  it('stores a batch once, however often it is sent', async () => {
    const testId = await open();
    await send(testId, 'a', samples(0, 10));
    expect((await send(testId, 'a', samples(0, 10))).body).toMatchObject({ rowCount: 10, repeated: true });
    expect((await send(testId, 'b', samples(10, 5))).body).toMatchObject({ rowCount: 15, repeated: false });
  });

  it('refuses what does not fit, and says what would', async () => {
    const testId = await open();
    await send(testId, 'a', samples(0, 10));
    const gap = await send(testId, 'b', samples(12, 5));
    expect(gap.status).toBe(409);
    expect(gap.body.errors[0]).toMatchObject({ field: 'firstRow', value: '12', expected: '10' });
    const back = await send(testId, 'c', { ...samples(10, 2), timeS: [0.5, 0.6] });
    expect(back.status).toBe(400);
    expect(back.body.errors[0]).toMatchObject({ field: 'timeS', row: 0, value: '0.5' });
    const high = await send(testId, 'd', { ...samples(10, 2), voltageV: [3.7, 3700] });
    expect(high.body.errors[0]).toMatchObject({ field: 'voltageV', row: 1, value: '3700' });
    const short = await send(testId, 'e', { ...samples(10, 2), currentA: [1] });
    expect(short.body.errors[0]).toMatchObject({ field: 'currentA' });
    expect((await api().post(`/api/v1/tests/${testId}/samples`).send(samples(10, 2))).status).toBe(400);
    expect((await api().get(`/api/v1/tests/${testId}/samples`)).body.rowCount).toBe(10);
    await api().post(`/api/v1/tests/${testId}/close`);
    expect((await send(testId, 'f', samples(10, 2))).status).toBe(409);
    expect((await send(testId, 'a', samples(0, 10))).body).toMatchObject({ repeated: true });
  });
});
