import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { registerColumnMap } from '../../server/commands/columnMap.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
let folder: string;
beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
  folder = mkdtempSync(join(tmpdir(), 'gemel-maps-'));
});
afterAll(async () => {
  rmSync(folder, { recursive: true });
  await test.close();
});

const header = ['zeitpunkt', 'eins', 'zwei'];
const reading = {
  columns: { time: 'zeitpunkt', voltage: 'eins', current: 'zwei' },
  units: { time: 's', voltage: 'V', current: 'A' },
};
const file = Buffer.from(`${header.join(',')}\n0,3.7,0\n1,3.71,1\n2,3.72,1\n3,3.7,0\n`);

describe('a column map of another installation', () => {
  it('is kept by the fingerprint of its header and proposed for a file of the same shape', async () => {
    const kept = await request(test.app)
      .post('/api/v1/column-maps')
      .send({ name: 'bench 7', header, reading });
    expect(kept.status).toBe(201);
    const { fingerprint } = kept.body;
    await request(test.app).delete(`/api/v1/column-maps/${kept.body.id}`).expect(204);
    const shared = await request(test.app)
      .post('/api/v1/column-maps')
      .send({ name: 'bench 7 of another lab', fingerprint, reading });
    expect(shared.status).toBe(201);
    const shown = await previewImport(test.context, 'log.csv', file, true, { lot: 'L-1', cell: 'M-1' });
    expect(shown).toMatchObject({ proposedMap: 'bench 7 of another lab', refusal: null });
    expect(shown.mapping.map(({ role, source }) => [role, source])).toEqual([
      ['time', 'zeitpunkt'],
      ['voltage', 'eins'],
      ['current', 'zwei'],
    ]);
  });

  it('goes into a document and comes from it by HTTP, all maps or none', async () => {
    await request(test.app).post('/api/v1/column-maps').send({ name: 'to share', header, reading });
    const document = await request(test.app).get('/api/v1/column-maps/file').expect(200);
    expect(document.body.maps.map(({ name }: { name: string }) => name)).toContain('to share');
    const other = await openTestApp();
    try {
      const bad = { ...document.body.maps[0], fingerprint: 'abc' };
      const refused = await request(other.app)
        .post('/api/v1/column-maps/file')
        .send({ schemaVersion: 1, maps: [document.body.maps[0], bad] });
      expect(refused.status).toBe(400);
      expect((await request(other.app).get('/api/v1/column-maps')).body.items).toEqual([]);
      await request(other.app).post('/api/v1/column-maps/file').send(document.body).expect(201);
      expect((await request(other.app).get('/api/v1/column-maps/file')).body).toEqual(document.body);
    } finally {
      await other.close();
    }
  });

  it.each([
    [{ name: 'x', reading }],
    [{ name: 'x', header, fingerprint: '0'.repeat(32), reading }],
    [{ name: 'x', fingerprint: 'abc', reading }],
  ])('is refused without a header, or with two: %j', async (body) => {
    const answer = await request(test.app).post('/api/v1/column-maps').send(body);
    expect(answer.status).toBe(400);
    expect(JSON.stringify(answer.body)).toMatch(/header|fingerprint/);
  });
});

describe('gemel column-map', () => {
  async function run(...args: string[]): Promise<{ code: number; out: string; err: string }> {
    let [out, err] = ['', ''];
    const spies = [
      vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
        out += text;
        return true;
      }),
      vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
        err += text;
        return true;
      }),
    ];
    try {
      const program = createProgram();
      registerColumnMap(program);
      return { code: await runProgram(program, ['column-map', ...args]), out, err };
    } finally {
      for (const spy of spies) spy.mockRestore();
    }
  }

  it('takes what it exported, names what is no such document, and overwrites no file', async () => {
    for (const [name, value] of Object.entries(test.variables)) vi.stubEnv(name, value);
    const document = join(folder, 'maps.json');
    writeFileSync(
      document,
      JSON.stringify({ schemaVersion: 1, maps: [{ name: 'bench 7', fingerprint: 'a'.repeat(32), reading }] }),
    );
    expect(await run('take', document)).toMatchObject({ code: 0 });
    const again = join(folder, 'again.json');
    expect(await run('export', again, 'bench 7')).toMatchObject({ code: 0 });
    expect(JSON.parse(readFileSync(again, 'utf8'))).toEqual(JSON.parse(readFileSync(document, 'utf8')));
    expect((await run('export', again, 'bench 7')).code).toBe(1);
    expect(await run('export', join(folder, 'n.json'), 'none such')).toMatchObject({ code: 1 });
    writeFileSync(document, '{"schemaVersion":1,"maps":[{"name":"x"}]}');
    const refused = await run('take', document);
    expect(refused.code).toBe(1);
    expect(refused.err).toMatch(/fingerprint/);
    vi.unstubAllEnvs();
  });
});

it('a MAT file is refused by name', async () => {
  const head = Buffer.alloc(200);
  head.write('MATLAB 5.0 MAT-file, Platform: GLNXA64, Created on: Mon Nov 30 10:00:00 2026');
  const offered = { name: 'log.mat', open: async () => bufferSource(head), rereadable: true };
  const report = await importFile(test.context, offered, { lot: 'L-1', cell: 'M-2' }, 'b');
  expect(report).toMatchObject({ state: 'refused', refusal: { code: 'unknown-format' } });
  expect(report.refusal?.reason).toMatch(/MAT file/);
});
