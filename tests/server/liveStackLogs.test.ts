import pino from 'pino';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startJobRunner } from '../../server/jobs/runner.ts';
import { makeStack } from '../support/loggedStack.ts';
import { logHeader, stackLogRows, usualBench, usualTruth } from '../support/stackLog.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
let stackId: number;
let lotName: string;
const header = logHeader.split(',');
const rows = stackLogRows(usualTruth, usualBench(41));

beforeAll(async () => {
  test = await openTestApp();
  ({ stackId, lotName } = await makeStack(test.context));
});
afterAll(() => test.close());

const api = () => request(test.app);
const send = (id: number, key: string, firstRow: number, batch: readonly (readonly number[])[]) =>
  api().post(`/api/v1/live-logs/${id}/rows`).set('Idempotency-Key', key).send({ firstRow, rows: batch });
async function open(more: object = {}): Promise<number> {
  const { status, body } = await api()
    .post(`/api/v1/stacks/${stackId}/live-logs`)
    .send({ header, lot: lotName, cycle: 7, ...more });
  expect(status, JSON.stringify(body)).toBe(201);
  expect(body).toMatchObject({ state: 'open', rowCount: 0, lastTimeS: null, stackLogId: null });
  return body.id;
}
async function fill(id: number, all: readonly (readonly number[])[] = rows): Promise<void> {
  for (let from = 0; from < all.length; from += 900) {
    const { status, body } = await send(id, `k${from}`, from, all.slice(from, from + 900));
    expect(status, JSON.stringify(body)).toBe(200);
  }
}

describe('a live log of a stack', () => {
  it('grows batch by batch, knows where it stands, and becomes the log that its file would have become', async () => {
    const id = await open();
    await fill(id);
    const again = await send(id, 'k0', 0, rows.slice(0, 900));
    expect(again.body).toMatchObject({ repeated: true, rowCount: rows.length });
    expect((await api().get(`/api/v1/live-logs/${id}`)).body).toMatchObject({
      rowCount: rows.length,
      lastTimeS: rows[rows.length - 1][0],
    });
    const closed = await api().post(`/api/v1/live-logs/${id}/close`);
    expect(closed.status, closed.text).toBe(200);
    expect(closed.body).toMatchObject({ state: 'closed', rowCount: rows.length });
    const { body: log } = await api().get(`/api/v1/stack-logs/${closed.body.stackLogId}`);
    expect(log).toMatchObject({ stackId, cycle: 7, rowCount: rows.length, state: 'sealed' });
    expect(log.columns.map(({ role }: { role: string }) => role)).toContain('bus-current');
    const { body: series } = await api().get(`/api/v1/stack-logs/${log.id}/series`);
    expect(series.timeS[0]).toBe(rows[0][0]);
    expect(series.columns[0].values[0]).toBe(rows[0][1]);
    // Closed again it answers alike; more rows are refused.
    expect((await api().post(`/api/v1/live-logs/${id}/close`)).body.stackLogId).toBe(log.id);
    const late = await send(id, 'late', rows.length, [[99_999, ...rows[0].slice(1)]]);
    expect(late.status).toBe(409);
  });

  it('refuses rows that can never be taken, by row and column, and keeps what it has', async () => {
    const id = await open();
    await send(id, 'a', 0, rows.slice(0, 100));
    const bad = (change: (row: number[]) => number[]) =>
      rows.slice(100, 110).map((row, i) => (i === 4 ? change([...row]) : row));
    const cases: readonly (readonly [(row: number[]) => number[], string, RegExp])[] = [
      [(row) => [...row.slice(0, 3), 3.4e38, ...row.slice(4)], 'rows.4', /current that no bench carries/],
      [(row) => [row[0] - 50, ...row.slice(1)], 'rows.4', /clock does not go forward|not after/],
      [(row) => [row[0], 12, ...row.slice(2)], 'rows.4', /Not the voltage of one lithium cell/],
      [(row) => row.slice(1), 'rows.4', /number of columns/],
    ];
    for (const [i, [change, field, reason]] of cases.entries()) {
      const { status, body } = await send(id, `bad${i}`, 100, bad(change));
      expect(status, JSON.stringify(body)).toBe(400);
      expect(body.errors[0].field).toBe(field);
      expect(`${body.detail} ${body.errors[0].reason}`).toMatch(reason);
    }
    const gone = await send(id, 'gap', 250, rows.slice(250, 260));
    expect(gone.status).toBe(409);
    expect(gone.body.errors[0]).toMatchObject({ field: 'firstRow', expected: '100' });
    expect((await api().get(`/api/v1/live-logs/${id}`)).body.rowCount).toBe(100);
  });

  it('stays open with every row where the whole log is refused, naming its row', async () => {
    const id = await open();
    const turned = rows.map((row) => [...row.slice(0, 3), row[3] === 0 ? 0 : -row[3], ...row.slice(4)]);
    await fill(id, turned);
    const before = (await api().get('/api/v1/stack-logs')).body.items.length;
    const { status, body } = await api().post(`/api/v1/live-logs/${id}/close`);
    expect(status).toBe(422);
    expect(body.code).toBe('file-refused');
    expect(body.errors[0]).toMatchObject({ field: 'I stack (A)' });
    expect((await api().get(`/api/v1/live-logs/${id}`)).body).toMatchObject({
      state: 'open',
      rowCount: rows.length,
    });
    expect((await api().get('/api/v1/stack-logs')).body.items.length).toBe(before);
  });

  it('of a sender that was cut off stays in the list of its stack over a restart, goes on where it was, and leaves the list when it is closed', async () => {
    const id = await open({ label: 'cut off' });
    await send(id, 'k0', 0, rows.slice(0, 900));
    const runner = await startJobRunner({
      store: test.context.store,
      log: pino({ level: 'silent' }),
      workers: 1,
    });
    await runner.close();
    const listed = async () => (await api().get(`/api/v1/stacks/${stackId}/live-logs`)).body.items;
    expect((await listed())[0]).toMatchObject({
      id,
      state: 'open',
      rowCount: 900,
      lastTimeS: rows[899][0],
      openedAt: expect.stringMatching(/^\d{4}-/),
    });
    // Another log of the same charge was stored before: the same bytes are not taken twice.
    const other = rows.slice(900).map((row) => [...row.slice(0, 3), row[3] + 0.001, ...row.slice(4)]);
    const { status } = await send(id, 'rest', 900, other);
    expect(status).toBe(200);
    const closed = await api().post(`/api/v1/live-logs/${id}/close`);
    expect(closed.status, closed.text).toBe(200);
    expect((await listed()).map((log: { id: number }) => log.id)).not.toContain(id);
    expect((await api().get('/api/v1/stacks/999/live-logs')).status).toBe(404);
  });

  it('is refused at its opening where its columns are not those of a log of the stack', async () => {
    const without = header.filter((name) => name !== 'V cell 2 (V)');
    const { status, body } = await api()
      .post(`/api/v1/stacks/${stackId}/live-logs`)
      .send({ header: without });
    expect(status).toBe(400);
    expect(body.errors[0].reason).toMatch(/has 2 cells/);
    const unknown = await api()
      .post(`/api/v1/stacks/${stackId}/live-logs`)
      .send({ header: ['Time (s)', 'x', 'y'] });
    expect(unknown.status).toBe(422);
    expect(unknown.body.errors[0].field).toBe('stack-current');
  });
});
