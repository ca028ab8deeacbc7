import {
  copyFileSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { JobStopped } from '../../server/jobs/task.ts';
import { serve } from '../../server/main.ts';
import { backupDatabase, refuseDamagedDatabase, restoreDatabase } from '../../server/store/backup.ts';
import { openSqlite, type SqliteStore } from '../../server/store/sqlite.ts';
import { runSql, selectAll } from '../support/sql.ts';

const now = new Date('2026-02-01T08:00:00.000Z');

describe('a backup that is put back', () => {
  let folder: string;
  let file: string;
  let store: SqliteStore;
  const backup = () => join(folder, 'backup.sqlite');
  const addToken = async (name: string) =>
    runSql(
      store,
      'INSERT INTO Token (name, hash, role, createdAt) VALUES (?, ?, ?, ?)',
      name,
      name,
      'reader',
      '',
    );
  const tokens = async () =>
    (await selectAll<{ name: string }>(store, 'SELECT name FROM Token')).map(({ name }) => name);
  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-restore-'));
    file = join(folder, 'data', 'gemel.sqlite');
    store = openSqlite(file);
    await addToken('first');
    await backupDatabase(store, backup());
    await addToken('second');
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('is refused while somebody has the database open, which stays as it is', async () => {
    await expect(restoreDatabase(backup(), file, now)).rejects.toMatchObject({ code: 'in-use' });
    expect(await tokens()).toEqual(['first', 'second']);
    await store.close();
    expect(readdirSync(join(folder, 'data'))).toEqual(['gemel.sqlite']);
  });

  it('replaces a closed database and leaves that whole under another name', async () => {
    await store.close();
    const kept = await restoreDatabase(backup(), file, now);
    store = openSqlite(file);
    expect(await tokens()).toEqual(['first']);
    await store.close();
    expect(kept).toBe(`${file}.before-2026-02-01T08-00-00-000Z`);
    store = openSqlite(kept as string);
    expect(await tokens()).toEqual(['first', 'second']);
    await store.close();
    expect(existsSync(`${file}.incoming`)).toBe(false);
  });

  it('is not mixed with the log of a database that was moved away or deleted, which is kept too', async () => {
    const big = 'x'.repeat(5000);
    for (let i = 0; i < 200; i++) await addToken(`${i} ${big}`);
    copyFileSync(`${file}-wal`, join(folder, 'log'));
    await store.close();
    rmSync(file);
    copyFileSync(join(folder, 'log'), `${file}-wal`);
    const kept = await restoreDatabase(backup(), file, now);
    expect(readFileSync(`${kept}-wal`).equals(readFileSync(join(folder, 'log')))).toBe(true);
    expect(readdirSync(join(folder, 'data')).sort()).toEqual([
      'gemel.sqlite',
      'gemel.sqlite.before-2026-02-01T08-00-00-000Z-wal',
    ]);
    refuseDamagedDatabase(file);
    store = openSqlite(file);
    expect(await tokens()).toEqual(['first']);
    await store.close();
  });

  it('is of one moment and ends while others go on writing', async () => {
    const filler = 'x'.repeat(100_000);
    for (let i = 0; i < 300; i++) await addToken(`${i} ${filler}`);
    const before = (await tokens()).length;
    let written = 0;
    const shares: number[] = [];
    await backupDatabase(store, join(folder, 'live.sqlite'), (share) => {
      shares.push(share);
      store.connection
        .prepare('INSERT INTO Token (name, hash, role, createdAt) VALUES (?, ?, ?, ?)')
        .run(`live ${written}`, `live ${written++}`, 'reader', '');
    });
    expect(written).toBeGreaterThan(1);
    expect(shares.every((share, i) => share <= 1 && share >= (shares[i - 1] ?? 0))).toBe(true);
    await store.close();
    store = openSqlite(join(folder, 'live.sqlite'));
    expect(await tokens()).toHaveLength(before);
    await store.close();
  });

  it('leaves no file where it is stopped', async () => {
    const stopped = backupDatabase(store, join(folder, 'stopped', 'half.sqlite'), () => {
      throw new JobStopped();
    });
    await expect(stopped).rejects.toBeInstanceOf(JobStopped);
    expect(readdirSync(join(folder, 'stopped'))).toEqual([]);
    await store.close();
  });

  it('replaces a damaged database too, and keeps what is left of that', async () => {
    await store.close();
    writeFileSync(file, 'damaged');
    const kept = await restoreDatabase(backup(), file, now);
    expect(readFileSync(kept as string, 'utf8')).toBe('damaged');
    store = openSqlite(file);
    expect(await tokens()).toEqual(['first']);
    await store.close();
  });
});

describe('a service', () => {
  it('does not start on a database whose pages are damaged, and changes nothing of it', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-damaged-'));
    const file = join(folder, 'gemel.sqlite');
    await openSqlite(file).close();
    const bytes = readFileSync(file);
    bytes.fill(0xa5, 3 * 16_384, 6 * 16_384);
    writeFileSync(file, bytes);
    const started = serve(readConfig({ GEMEL_DATA: folder, GEMEL_PORT: '0' }));
    await expect(started).rejects.toMatchObject({
      code: 'storage-damaged',
      message: expect.stringContaining('gemel restore FILE'),
    });
    expect(readFileSync(file).equals(bytes)).toBe(true);
    rmSync(folder, { recursive: true, force: true });
  });
});
