import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Refusal } from '../../server/errors.ts';
import { projectRoot } from '../../server/projectRoot.ts';

import { backupDatabase, restoreDatabase } from '../../server/store/backup.ts';
import { migrationNames, migrationsFolder } from '../../server/store/migrations.ts';
import { differenceToSchema } from '../../server/store/schemaEngine.ts';
import { applyMigrations } from '../../server/store/sqliteMigrations.ts';
import { openStore, type Store } from '../../server/store/store.ts';
import { argumentsOf } from '../support/program.ts';
import { runSql, selectAll, selectOne } from '../support/sql.ts';

describe('migrations', () => {
  let folder: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-migrations-'));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('lead from nothing to exactly the schema', async () => {
    expect(
      await differenceToSchema({ kind: 'sqlite', file: join(folder, 'scratch.sqlite') }, 'migrations'),
    ).toBeNull();
  });

  it('are told apart from a schema that they do not lead to', async () => {
    expect(
      await differenceToSchema({ kind: 'sqlite', file: join(folder, 'scratch.sqlite') }, 'nothing'),
    ).toContain('CREATE TABLE "Cell"');
  });

  it('carry over how far running jobs are', () => {
    const connection = new Database(join(folder, 'running.sqlite'));
    connection.pragma('foreign_keys = OFF');
    for (const name of migrationNames('sqlite')) {
      if (name.endsWith('_job_progress'))
        connection.exec(`INSERT INTO Job (kind, state, inputJson, progress, progressText, workerId, heartbeatAt, createdAt, createdBy)
          VALUES ('backup', 'running', '{}', 0.4, 'copying', 'host:1:1', '2026-02-01T08:00:00.000Z', '2026', 'x'),
            ('backup', 'waiting', '{}', 0, '', NULL, NULL, '2026', 'x')`);
      connection.exec(readFileSync(join(migrationsFolder('sqlite'), name, 'migration.sql'), 'utf8'));
    }
    expect(
      connection
        .prepare('SELECT jobId, workerId, heartbeatAt, progress, progressText FROM JobProgress')
        .all(),
    ).toEqual([
      {
        jobId: 1,
        workerId: 'host:1:1',
        heartbeatAt: '2026-02-01T08:00:00.000Z',
        progress: 0.4,
        progressText: 'copying',
      },
    ]);
    connection.close();
  });

  it('are applied once and noted as Prisma notes them', async () => {
    const file = join(folder, 'gemel.sqlite');
    expect(applyMigrations(file)).toEqual(migrationNames('sqlite'));
    expect(applyMigrations(file)).toEqual([]);
    const store = await openStore(file);
    const noted = await selectAll<{ migration_name: string; finished_at: unknown }>(
      store,
      'SELECT migration_name, finished_at FROM _prisma_migrations ORDER BY migration_name',
    );
    expect(noted.map((row) => row.migration_name)).toEqual(migrationNames('sqlite'));
    expect(noted.every((row) => row.finished_at !== null)).toBe(true);
    await store.close();
  });
});

describe('a database that a newer version has changed', () => {
  const newer = '29990101000000_from_the_future';
  let folder: string;
  let file: string;
  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-newer-'));
    file = join(folder, 'gemel.sqlite');
    const store = await openStore(file);
    await backupDatabase(store, join(folder, 'good.sqlite'));
    await runSql(
      store,
      `INSERT INTO _prisma_migrations (id, checksum, finished_at, migration_name, applied_steps_count)
       VALUES ('x', 'y', '2999-01-01T00:00:00Z', ?, 1)`,
      newer,
    );
    await runSql(store, 'CREATE TABLE FromTheFuture (id INTEGER)');
    await store.close();
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('is refused by the name of the migration, with what to do, and not a byte of it changes', async () => {
    const before = readFileSync(file);
    const refused = await openStore(file).catch((error: unknown) => error);
    expect(refused).toMatchObject({ code: 'newer-database', status: 503 });
    expect((refused as Refusal).places).toEqual([
      expect.objectContaining({
        field: 'migration',
        value: newer,
        expected: expect.stringMatching(/^none after /),
      }),
    ]);
    expect((refused as Error).message).toMatch(
      /Nothing was changed\. Update the program, or restore a backup/,
    );
    expect(readFileSync(file).equals(before)).toBe(true);
  });

  it.each([['server/commands/main.ts', 'serve'], ['seed/load.ts']])(
    'ends %s with the reason alone',
    (program, ...args) => {
      const run = spawnSync(process.execPath, [...argumentsOf(program), ...args], {
        cwd: projectRoot,
        encoding: 'utf8',
        env: { ...process.env, GEMEL_DATA: folder, GEMEL_PORT: '0' },
      });
      expect(run.status).toBe(1);
      expect(run.stderr).toContain(newer);
      expect(run.stderr).toContain('Update the program');
      expect(run.stderr).not.toMatch(/^ +at /m);
    },
  );

  it('is not taken for a backup, and makes room for one that this version knows', async () => {
    const now = new Date('2026-02-01T08:00:00.000Z');
    const good = join(folder, 'good.sqlite');
    const present = readFileSync(good);
    await expect(restoreDatabase(file, good, now)).rejects.toMatchObject({ code: 'newer-database' });
    expect(readFileSync(good).equals(present)).toBe(true);
    const kept = await restoreDatabase(good, file, now);
    await (await openStore(file)).close();
    await expect(openStore(kept as string)).rejects.toMatchObject({ code: 'newer-database' });
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
      expect((await selectOne<Record<string, unknown>>(store, `PRAGMA ${pragma}`))?.[pragma]).toBe(value);
      await store.transaction(async (tx) => {
        expect((await selectOne<Record<string, unknown>>(tx, `PRAGMA ${pragma}`))?.[pragma]).toBe(value);
      });
    }
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('undoes a whole transaction when its work throws', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-store-'));
    const store = await openStore(join(folder, 'gemel.sqlite'));
    const insert = async (tx: Store) =>
      runSql(
        tx,
        `INSERT INTO AuditEntry (at, actor, action, subjectKind) VALUES ('2026-01-01T00:00:00.000Z', 'a', 'lot.created', 'lot')`,
      );
    await expect(async () =>
      store.transaction(async (tx) => {
        await insert(tx);
        throw new Error('stop');
      }),
    ).rejects.toThrow('stop');
    expect((await selectOne<{ n: number }>(store, 'SELECT COUNT(*) AS n FROM AuditEntry'))?.n).toBe(0);
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  });
});
