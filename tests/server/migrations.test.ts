import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { applyMigrations, differenceToSchema, migrationNames } from '../../server/store/schemaEngine.ts';
import { openStore } from '../../server/store/store.ts';

describe('migrations', () => {
  let folder: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-migrations-'));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('lead from nothing to exactly the schema', async () => {
    expect(await differenceToSchema(join(folder, 'scratch.sqlite'), 'migrations')).toBeNull();
  });

  it('are told apart from a schema that they do not lead to', async () => {
    expect(await differenceToSchema(join(folder, 'scratch.sqlite'), 'nothing')).toContain(
      'CREATE TABLE "Cell"',
    );
  });

  it('are applied once and noted as Prisma notes them', async () => {
    const file = join(folder, 'gemel.sqlite');
    expect(await applyMigrations(file)).toEqual(migrationNames());
    expect(await applyMigrations(file)).toEqual([]);
    const store = await openStore(file);
    const noted = store.all<{ migration_name: string; finished_at: unknown }>(
      'SELECT migration_name, finished_at FROM _prisma_migrations ORDER BY migration_name',
    );
    expect(noted.map((row) => row.migration_name)).toEqual(migrationNames());
    expect(noted.every((row) => row.finished_at !== null)).toBe(true);
    await store.close();
  });
});

describe('the store', () => {
  it('keeps foreign keys, a write-ahead log and full synchronisation on both of its connections', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-store-'));
    const store = await openStore(join(folder, 'gemel.sqlite'));
    for (const [pragma, value] of [
      ['foreign_keys', 1],
      ['synchronous', 2],
      ['journal_mode', 'wal'],
    ] as const) {
      expect(store.get<Record<string, unknown>>(`PRAGMA ${pragma}`)?.[pragma]).toBe(value);
      const [row] = await store.prisma.$queryRawUnsafe<Record<string, unknown>[]>(`PRAGMA ${pragma}`);
      expect(String(Object.values(row)[0])).toBe(String(value));
    }
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('undoes a whole transaction when its work throws', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-store-'));
    const store = await openStore(join(folder, 'gemel.sqlite'));
    const insert = () =>
      store.run(
        `INSERT INTO AuditEntry (at, actor, action, subjectKind) VALUES ('2026-01-01T00:00:00.000Z', 'a', 'lot.created', 'lot')`,
      );
    expect(() =>
      store.transaction(() => {
        insert();
        throw new Error('stop');
      }),
    ).toThrow('stop');
    expect(store.get<{ n: number }>('SELECT COUNT(*) AS n FROM AuditEntry')?.n).toBe(0);
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  });
});
