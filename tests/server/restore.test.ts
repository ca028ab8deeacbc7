import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { backupDatabase, restoreDatabase } from '../../server/store/backup.ts';
import { openStore, type Store } from '../../server/store/store.ts';

const now = new Date('2026-02-01T08:00:00.000Z');

describe('a backup that is put back', () => {
  let folder: string;
  let file: string;
  let store: Store;
  const backup = () => join(folder, 'backup.sqlite');
  const addToken = async (name: string) =>
    store.run(
      'INSERT INTO Token (name, hash, role, createdAt) VALUES (?, ?, ?, ?)',
      name,
      name,
      'reader',
      '',
    );
  const tokens = async () =>
    (await store.all<{ name: string }>('SELECT name FROM Token')).map(({ name }) => name);
  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-restore-'));
    file = join(folder, 'data', 'gemel.sqlite');
    store = await openStore(file);
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
    store = await openStore(file);
    expect(await tokens()).toEqual(['first']);
    await store.close();
    expect(kept).toBe(`${file}.before-2026-02-01T08-00-00-000Z`);
    store = await openStore(kept as string);
    expect(await tokens()).toEqual(['first', 'second']);
    await store.close();
    expect(existsSync(`${file}.incoming`)).toBe(false);
  });

  it('replaces a damaged database too, and keeps what is left of that', async () => {
    await store.close();
    writeFileSync(file, 'damaged');
    const kept = await restoreDatabase(backup(), file, now);
    expect(readFileSync(kept as string, 'utf8')).toBe('damaged');
    store = await openStore(file);
    expect(await tokens()).toEqual(['first']);
    await store.close();
  });
});
