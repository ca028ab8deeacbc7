import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { JobStopped } from '../../server/jobs/task.ts';
import { toRefusal } from '../../server/problem.ts';
import { openSqlite, type SqliteStore, sqliteStore } from '../../server/store/sqlite.ts';
import { sweepStagedRecords } from '../../server/store/stagedRecords.ts';
import { type ImportProgress, importFile } from '../../server/use-cases/imports/importFile.ts';
import { runSql, selectOne } from '../support/sql.ts';
import { makeLot } from './importLot.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-storage-'));
let store: SqliteStore;

beforeAll(async () => {
  const first = openSqlite(join(folder, 'gemel.sqlite'));
  await makeLot(first, 'L-1');
  await first.close();
  store = sqliteStore(join(folder, 'gemel.sqlite'));
});
afterAll(async () => {
  await store.close();
  rmSync(folder, { recursive: true });
});

/** Noise that cannot be packed, so that a few hundred thousand rows take several transactions. */
const bytes = Buffer.from(
  `time_s,voltage_V,current_A\n${Array.from({ length: 400_000 }, (_, i) => `${i},${3 + (Math.imul(i, 2654435761) >>> 1) / 4294967296},${Math.sin(i)}`).join('\n')}\n`,
);

async function take(onProgress?: ImportProgress) {
  const context = { store, now: () => new Date('2026-02-01'), actor: { name: 'test' } };
  const file = { name: 'noise.csv', open: async () => bufferSource(bytes), rereadable: true };
  return importFile(context, file, { lot: 'L-1', cell: 'C-1' }, 'b', onProgress);
}

const contents = async () =>
  selectOne(
    store,
    `SELECT (SELECT COUNT(*) FROM Record) AS records, (SELECT COUNT(*) FROM RecordChunk) AS chunks,
       (SELECT COUNT(*) FROM SourceFile) AS files, (SELECT COUNT(*) FROM Cell) AS cells`,
  );
const nothing = { records: 0, chunks: 0, files: 0, cells: 0 };

async function refusalOf(work: Promise<unknown>) {
  try {
    await work;
  } catch (error) {
    return toRefusal(error);
  }
  throw new Error('It worked');
}

describe('an import', () => {
  it('into a full disk fails by that name, leaves nothing, and works once there is room', async () => {
    const pages = Number(store.connection.pragma('page_count', { simple: true }));
    const limit = store.connection.pragma('max_page_count', { simple: true });
    // The database may grow by 100 pages of 16 KiB, as on a disk that fills up in the middle of a file.
    store.connection.pragma(`max_page_count = ${pages + 100}`);
    const refusal = await refusalOf(take());
    expect(refusal).toMatchObject({ code: 'storage-full', status: 507 });
    expect(refusal.message).toContain('nothing was stored');
    await sweepStagedRecords(store);
    expect(await contents()).toEqual(nothing);
    expect(store.connection.pragma('integrity_check', { simple: true })).toBe('ok');
    store.connection.pragma(`max_page_count = ${limit}`);
    expect(await take()).toMatchObject({ state: 'taken', rowCount: 400_000 });
    await runSql(store, 'DELETE FROM Test');
    await runSql(store, 'DELETE FROM Cell');
    await runSql(store, 'DELETE FROM SourceFile');
  });

  it('that is stopped on the way leaves nothing of what it had stored', async () => {
    let chunksThen = 0;
    const stopped = take((_bytes, _size, rows) => {
      if (rows < 350_000) return;
      chunksThen = Number(store.connection.prepare('SELECT COUNT(*) FROM RecordChunk').pluck().get());
      throw new JobStopped();
    });
    await expect(stopped).rejects.toThrow('cancelled');
    expect(chunksThen).toBeGreaterThan(0);
    expect(await contents()).toEqual(nothing);
  });

  it('into a database that may not be written fails by that name and works once it may', async () => {
    store.connection.pragma('query_only = ON');
    expect(await refusalOf(take())).toMatchObject({ code: 'storage-read-only', status: 503 });
    store.connection.pragma('query_only = OFF');
    expect(await contents()).toEqual(nothing);
    expect(await take()).toMatchObject({ state: 'taken' });
  });
});
