import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { liveBatchOutcomes } from '../../server/contract/liveRecords.ts';
import { insertCell } from '../../server/store/cells.ts';
import { findRecord, readRecord } from '../../server/store/records.ts';
import { openFurtherStore } from '../../server/store/store.ts';
import { appendLiveSamples } from '../../server/use-cases/imports/appendLiveSamples.ts';
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

  it('knows the last batches again when it is closed, and lets the identifiers of earlier ones go', async () => {
    const testId = await open();
    for (const from of [0, 650]) {
      const batches = Array.from({ length: 650 }, (_, i) => ({
        testId,
        key: `b${from + i}`,
        ...samples(10 * (from + i), 10),
      }));
      const { body } = await api().post('/api/v1/live-samples').send({ batches });
      expect(body.batches.every(({ outcome }: { outcome: string }) => outcome === 'stored')).toBe(true);
    }
    const kept = async () =>
      (
        await selectOne<{ n: number }>(
          test.context.store,
          'SELECT count(*) AS n FROM LiveBatch WHERE testId = ?',
          testId,
        )
      )?.n;
    expect((await send(testId, 'b0', samples(0, 10))).body).toMatchObject({ repeated: true });
    expect(await kept()).toBe(1300);
    await api().post(`/api/v1/tests/${testId}/close`);
    expect(await kept()).toBe(1000);
    expect((await send(testId, 'b1299', samples(12_990, 10))).body).toMatchObject({
      rowCount: 13_000,
      repeated: true,
    });
    expect((await send(testId, 'b300', samples(3000, 10))).body).toMatchObject({
      rowCount: 13_000,
      repeated: true,
    });
    expect((await send(testId, 'b299', samples(2990, 10))).body).toMatchObject({ code: 'conflict' });
    expect((await api().get(`/api/v1/tests/${testId}/samples`)).body.rowCount).toBe(13_000);
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

describe('batches of several tests in one request', () => {
  const sendMany = async (batches: unknown[]) => {
    const { status, body } = await api().post('/api/v1/live-samples').send({ batches });
    expect(status, JSON.stringify(body)).toBe(200);
    return liveBatchOutcomes.parse(body).batches;
  };

  it('are each stored or refused by themselves', async () => {
    const [one, two, closed] = [await open(), await open(), await open()];
    await send(closed, 'a', samples(0, 10));
    await api().post(`/api/v1/tests/${closed}/close`);
    const missing = { ...samples(0, 2), voltageV: [3.7, null] };
    const outcomes = await sendMany([
      { testId: one, key: 'a', ...samples(0, 10) },
      { testId: two, key: 'a', ...missing },
      { testId: one, key: 'b', ...samples(10, 20) },
      { testId: 999_999, key: 'a', ...samples(0, 10) },
      { testId: closed, key: 'b', ...samples(10, 1) },
      { testId: closed, key: 'a', ...samples(0, 10) },
      { testId: two, key: 'b', ...samples(0, 7) },
      { testId: one, key: 'b', ...samples(10, 20) },
      { testId: two, key: 'c', ...samples(9, 1) },
    ]);
    const said = outcomes.map((each) =>
      each.outcome === 'stored' ? [each.state.rowCount, each.state.repeated] : each.problem.code,
    );
    expect(said).toEqual([
      [10, false],
      'invalid-request',
      [30, false],
      'not-found',
      'conflict',
      [10, true],
      [7, false],
      [30, true],
      'conflict',
    ]);
    expect(outcomes[1]).toMatchObject({ problem: { errors: [{ field: 'voltageV.1' }] } });
    const rows = async (testId: number) => (await api().get(`/api/v1/tests/${testId}/samples`)).body.rowCount;
    expect([await rows(one), await rows(two), await rows(closed)]).toEqual([30, 7, 10]);
  });

  it('are refused whole where there is no list of them', async () => {
    const { status, body } = await api().post('/api/v1/live-samples').send({ batches: [] });
    expect(status).toBe(400);
    expect(body.errors[0]).toMatchObject({ field: 'batches' });
  });

  it('come back bit for bit, whoever of two services took them, and however they were packed', async () => {
    const other = await openFurtherStore(test.context.store.place);
    try {
      const testIds = [await open(), await open(), await open()];
      const rng = seededRandom(7);
      const sent = testIds.map(() => ({
        timeS: [] as number[],
        voltageV: [] as number[],
        currentA: [] as number[],
      }));
      for (let round = 0; round < 60; round++) {
        const context = round % 7 < 4 ? test.context : { ...test.context, store: other };
        await Promise.all(
          testIds.map(async (testId, i) => {
            const count = 1 + Math.floor(rng() * (round % 10 === 0 ? 3000 : 40));
            const before = sent[i].timeS.length;
            const batch = {
              firstRow: before,
              timeS: Array.from({ length: count }, (_, k) => (before + k) / 10),
              // Every third value has a long mantissa, so that it is packed as it is.
              voltageV: Array.from({ length: count }, (_, k) => (k % 3 === 0 ? 3.6 + rng() / 10 : 3.701)),
              currentA: Array.from({ length: count }, (_, k) => (k % 5 === 0 ? -0 : 1.25)),
            };
            for (const name of ['timeS', 'voltageV', 'currentA'] as const) sent[i][name].push(...batch[name]);
            const state = await appendLiveSamples(context, { testId, key: `r${round}`, samples: batch });
            expect(state).toMatchObject({ rowCount: before + count, repeated: false });
          }),
        );
      }
      for (const [i, testId] of testIds.entries()) {
        if (i === 0) await api().post(`/api/v1/tests/${testId}/close`);
        const record = await findRecord(test.context.store, testId);
        if (record === null) throw new Error(`Test ${testId} has no record.`);
        const read = await readRecord(test.context.store, record);
        for (const name of ['timeS', 'voltageV', 'currentA'] as const)
          expect(
            Buffer.from(Float64Array.from(read[name]).buffer).equals(
              Buffer.from(Float64Array.from(sent[i][name]).buffer),
            ),
          ).toBe(true);
        expect(record.durationS).toBe(sent[i].timeS[sent[i].timeS.length - 1]);
      }
    } finally {
      await other.close();
    }
  });
});
