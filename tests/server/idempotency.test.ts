import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import express from 'express';
import request from 'supertest';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { projectRoot } from '../../server/projectRoot.ts';
import { mountRoutes } from '../../server/routes/mount.ts';
import { serve } from '../../server/routes/route.ts';
import { makeLot } from '../support/basics.ts';
import { argumentsOf } from '../support/program.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { onPostgresql } from '../support/testDatabase.ts';
import { waitingUploads } from '../support/waitingUploads.ts';

const record = 'time_s,voltage_V,current_A\n0,3.7,0\n1,3.7,0\n';

/** What each kind of request asks for, and the table that has one row more once it was done. */
const asked = [
  { what: 'a lot', path: '/lots', body: { name: 'spring', cellTypeId: 1 }, table: 'Lot', status: 201 },
  { what: 'a job', path: '/backups', body: {}, table: 'Job', status: 202 },
  {
    what: 'an import',
    path: '/imports?lot=winter&cell=N-1&name=n.csv',
    body: record,
    table: 'Job',
    status: 202,
  },
  {
    what: 'an export',
    path: '/exports',
    body: { format: 'parameters-json', subjectKind: 'lot', subjectId: 1 },
    table: 'Export',
    status: 201,
  },
] as const;

describe.skipIf(onPostgresql)(
  'a service that ends between the work and the answer of a request with an Idempotency-Key',
  () => {
    let folder: string;
    let test: TestApp;
    const open = async () => {
      test = await openTestApp({ GEMEL_DATA: folder });
    };
    beforeEach(async () => {
      folder = mkdtempSync(join(tmpdir(), 'gemel-once-'));
      await open();
      await makeLot(test.context, { lot: 'winter' });
      const cell = await request(test.app).post('/api/v1/cells').send({ lotId: 1, serial: 'N-1' });
      expect(cell.status).toBe(201);
    });
    afterEach(async () => {
      await test.close();
      rmSync(folder, { recursive: true, force: true });
    });

    const count = async (table: string) =>
      (await selectOne<{ n: number }>(test.context.store, `SELECT COUNT(*) AS n FROM "${table}"`))?.n ??
      Number.NaN;

    it.each(asked)('has done nothing, and the repetition makes $what once', async (one) => {
      const before = await count(one.table);
      await test.close();
      const body = typeof one.body === 'string' ? one.body : JSON.stringify(one.body);
      const victim = spawnSync(
        process.execPath,
        [...argumentsOf('tests/server/kill/onceVictim.ts'), folder, one.path, 'key-1', body],
        { cwd: projectRoot, encoding: 'utf8' },
      );
      expect({ signal: victim.signal, out: victim.stdout }).toEqual({ signal: 'SIGKILL', out: '' });
      await open();
      expect(await count(one.table)).toBe(before);
      const send = () => {
        const post = request(test.app).post(`/api/v1${one.path}`).set('Idempotency-Key', 'key-1');
        return typeof one.body === 'string'
          ? post.set('Content-Type', 'text/csv').send(one.body)
          : post.send(one.body);
      };
      const first = await send();
      expect(first.status).toBe(one.status);
      const second = await send();
      expect({ status: second.status, body: second.body }).toEqual({ status: one.status, body: first.body });
      expect(await count(one.table)).toBe(before + 1);
    });
  },
);

describe('a route that takes an Idempotency-Key and answers nothing', () => {
  it('does its work once and answers 204 each time', async () => {
    const test = await openTestApp();
    let done = 0;
    const route = serve(
      'POST /nothing',
      { tag: 'Test', summary: 'Answers nothing', idempotent: true } as const,
      {
        role: 'operator',
        handle: () => {
          done++;
          return undefined;
        },
      },
    );
    const app = express();
    mountRoutes(app, [route], { contextOf: async () => test.context, checkAnswers: true });
    const send = () => request(app).post('/nothing').set('Idempotency-Key', 'key-3');
    const [first, second] = [await send(), await send()];
    expect([first.status, second.status, done]).toEqual([204, 204, 1]);
    await test.close();
  });
});

describe('the Idempotency-Key of an upload', () => {
  let test: TestApp;
  beforeEach(async () => {
    test = await openTestApp();
    await makeLot(test.context, { lot: 'winter' });
  });
  afterEach(async () => test.close());

  const send = (bytes: string) =>
    request(test.app)
      .post('/api/v1/imports?lot=winter&cell=N-1&name=n.csv')
      .set('Content-Type', 'text/csv')
      .set('Idempotency-Key', 'key-2')
      .send(bytes);

  it('stands for the bytes too: others under the same key are refused, and not kept', async () => {
    const first = await send(record);
    expect(first.status).toBe(202);
    const other = await send(record.replaceAll('3.7', '3.8'));
    expect([other.status, other.body.code]).toEqual([409, 'conflict']);
    expect((await send(record)).body).toEqual(first.body);
    expect(await waitingUploads(test.context.store)).toHaveLength(1);
  });

  it('is part of the description of the interface', async () => {
    const { body } = await request(test.app).get('/api/v1/openapi.json');
    const names = body.paths['/imports'].post.parameters.map((one: { name: string }) => one.name);
    expect(names).toContain('Idempotency-Key');
  });
});
