import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { gzipSync } from 'node:zlib';
import { strToU8, zipSync } from 'fflate';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportReport } from '../../../server/contract/import.ts';
import { type JobRunner, startJobRunner } from '../../../server/jobs/runner.ts';
import { findRecord, readRecord } from '../../../server/store/records.ts';
import { openStore, type Store } from '../../../server/store/store.ts';
import { sweepUploads } from '../../../server/store/uploads.ts';
import { runSql } from '../../support/sql.ts';
import { openTestApp, type TestApp } from '../../support/testApp.ts';
import { waitingUploads } from '../../support/waitingUploads.ts';
import { makeLot } from '../importLot.ts';

/** A service, and a worker that has a data folder of its own, as on another machine. */
let test: TestApp;
let elsewhere: Store;
let worker: JobRunner;
const folder = mkdtempSync(join(tmpdir(), 'gemel-elsewhere-'));

beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
  const { place } = test.context.store;
  if (place.kind !== 'postgresql') throw new Error('These tests are for PostgreSQL.');
  elsewhere = await openStore({ ...place, folder });
  worker = await startJobRunner({
    store: elsewhere,
    log: { warn: console.warn, info: () => {} },
    workers: 1,
    receives: false,
  });
});
afterAll(async () => {
  await worker.close();
  await elsewhere.close();
  await test.close();
  rmSync(folder, { recursive: true });
});

const rowsOf = (count: number, seed: number) =>
  Array.from({ length: count }, (_, i) => `${i},${(3.7 + Math.sin(i * seed) / 100).toFixed(6)},0.5`);
const csv = (count: number, seed: number) =>
  `time_s,voltage_V,current_A\n${rowsOf(count, seed).join('\n')}\n`;

/** Sends a file and waits for the reports of its job. */
async function imported(name: string, bytes: Buffer): Promise<ImportReport[]> {
  const sent = await request(test.app)
    .post('/api/v1/imports')
    .query({ lot: 'L-1', cell: 'C-1', name })
    .set('Content-Type', 'application/octet-stream')
    .send(bytes);
  expect(sent.status).toBe(202);
  for (;;) {
    const { body } = await request(test.app).get(`/api/v1/jobs/${sent.body.id}`);
    if (body.state === 'done') return body.result.reports;
    if (body.state === 'failed') throw new Error(body.error);
    await delay(50);
  }
}

describe('an upload that another machine imports', () => {
  it('comes there exactly, when it is longer than a row of the database, packed or not', async () => {
    const whole = csv(120_000, 1);
    expect(whole.length).toBeGreaterThan(2 * 1024 * 1024);
    const [report] = await imported('long.csv', Buffer.from(whole));
    const record = await findRecord(elsewhere, report.runs[0].testId as number);
    const { voltageV } = await readRecord(elsewhere, record!);
    expect([...voltageV]).toEqual(rowsOf(120_000, 1).map((row) => Number(row.split(',')[1])));
    const [packed] = await imported('packed.csv.gz', gzipSync(csv(120_000, 2)));
    expect(packed).toMatchObject({ state: 'taken', rowCount: 120_000 });
  });

  it('offers each of the files of a zip', async () => {
    const zip = zipSync({ 'a.csv': strToU8(csv(40, 3)), 'b.csv': strToU8(csv(40, 4)) });
    const reports = await imported('both.zip', Buffer.from(zip));
    expect(reports.map(({ state, fileName }) => [state, fileName])).toEqual([
      ['taken', 'both.zip/a.csv'],
      ['taken', 'both.zip/b.csv'],
    ]);
  });

  it('is refused by name where it is empty, and is not kept after its import in any case', async () => {
    const [report] = await imported('empty.csv', Buffer.from('\n'));
    expect(report.state).toBe('refused');
    expect(await waitingUploads(test.context.store)).toEqual([]);
    expect(readdirSync(folder)).toEqual([]);
  });

  it('stays while its job can be tried again, and is removed where no job wants it for a day', async () => {
    const { store } = test.context;
    const add = (id: string, receivedAt: string) =>
      runSql(store, 'INSERT INTO Upload (id, receivedAt) VALUES (?, ?)', id, receivedAt);
    await add('left-over', '2026-01-01T00:00:00.000Z');
    await add('failed', '2026-01-01T00:00:00.000Z');
    await add('coming-in', new Date().toISOString());
    const input = { batch: 'b', files: [{ name: 'f.csv', uploadId: 'failed' }], options: {} };
    await runSql(
      store,
      `INSERT INTO Job (kind, state, inputJson, createdAt, createdBy) VALUES ('import', 'failed', ?, ?, 'x')`,
      JSON.stringify(input),
      '2026-01-01T00:00:00.000Z',
    );
    expect(await sweepUploads(store, 24 * 3600 * 1000)).toBe(1);
    expect((await waitingUploads(store)).sort()).toEqual(['coming-in', 'failed']);
  });
});
