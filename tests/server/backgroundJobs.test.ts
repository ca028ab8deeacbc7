import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import Database from 'better-sqlite3';
import pino from 'pino';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type JobRunner, startJobRunner } from '../../server/jobs/runner.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { onPostgresql } from '../support/testDatabase.ts';
import { fillStore } from './exportStore.ts';

describe('work in the background', () => {
  let test: TestApp;
  let runner: JobRunner;
  let lotId: number;
  beforeAll(async () => {
    test = await openTestApp();
    lotId = (await fillStore(test.context)).lotId;
    runner = await startJobRunner({
      store: test.context.store,
      log: pino({ level: 'error' }, pino.destination(2)),
      workers: 1,
    });
  });
  afterAll(async () => {
    await runner.close();
    await test.close();
  });

  async function finished(id: number): Promise<Record<string, unknown>> {
    for (let i = 0; i < 600; i++) {
      const { body } = await request(test.app).get(`/api/v1/jobs/${id}`);
      if (body.state !== 'waiting' && body.state !== 'running') return body;
      await delay(100);
    }
    throw new Error(`Job ${id} did not end.`);
  }

  it('writes the same bytes as an export in the foreground', async () => {
    const body = { format: 'parameters-json', subjectKind: 'lot', subjectId: lotId };
    const put = await request(test.app).post('/api/v1/exports/background').send(body);
    expect(put.status).toBe(202);
    const job = await finished(put.body.id);
    expect(job.state).toBe('done');
    const { exportId } = job.result as { exportId: number };
    const file = await request(test.app).get(`/api/v1/exports/${exportId}/file`).buffer(true);
    const direct = await request(test.app).post('/api/v1/exports').send(body);
    expect(createHash('sha256').update(file.text).digest('hex')).toBe(direct.body.sha256);
  });

  it('fails an export of what is not there with the reason', async () => {
    const put = await request(test.app)
      .post('/api/v1/exports/background')
      .send({ format: 'parameters-json', subjectKind: 'lot', subjectId: 9999 });
    const job = await finished(put.body.id);
    expect(job.state).toBe('failed');
    expect(job.error).toContain('9999');
  });

  it.runIf(onPostgresql)("leaves the backup to the server's own tool, and gives its command", async () => {
    const put = await request(test.app).post('/api/v1/backups').send({});
    expect(put.status).toBe(400);
    expect(put.body.detail).toMatch(/pg_dump --format=custom --file=\S+ postgresql:/);
  });

  it.skipIf(onPostgresql)('backs the database up whole, and tells no place on the disk', async () => {
    const put = await request(test.app).post('/api/v1/backups').send({});
    expect(put.status).toBe(202);
    const job = await finished(put.body.id);
    expect(job.state).toBe('done');
    const { file } = job.result as { file: string };
    expect(file).toMatch(/^gemel-[\dTZ-]+\.sqlite$/);
    const path = join(test.folder, 'backups', file);
    expect(existsSync(path)).toBe(true);
    const copy = new Database(path, { readonly: true });
    expect(copy.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(copy.prepare('SELECT COUNT(*) AS n FROM Cell').pluck().get()).toBe(
      (await selectOne<{ n: number }>(test.context.store, 'SELECT COUNT(*) AS n FROM Cell'))?.n,
    );
    copy.close();
  });
});
