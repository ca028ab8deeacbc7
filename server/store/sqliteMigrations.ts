import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import Database from 'better-sqlite3';
import { lackingMigrations, type NotedMigration, refuseUnknown } from './migrations.ts';

const lockTimeoutMs = 10_000;

/** Where the applied migrations are noted: the table that Prisma's own command makes and reads. */
const notesTable = `CREATE TABLE IF NOT EXISTS "_prisma_migrations" (
  "id" TEXT PRIMARY KEY NOT NULL,
  "checksum" TEXT NOT NULL,
  "finished_at" DATETIME,
  "migration_name" TEXT NOT NULL,
  "logs" TEXT,
  "rolled_back_at" DATETIME,
  "started_at" DATETIME NOT NULL DEFAULT current_timestamp,
  "applied_steps_count" INTEGER UNSIGNED NOT NULL DEFAULT 0
)`;

/** The migrations that a database file notes, in order; none where it has no such table or is not there. Only reads. */
function readNoted(databaseFile: string): NotedMigration[] {
  if (!existsSync(databaseFile)) return [];
  const connection = new Database(databaseFile, { readonly: true, timeout: lockTimeoutMs });
  try {
    return notedIn(connection);
  } finally {
    connection.close();
  }
}

function notedIn(connection: Database.Database): NotedMigration[] {
  const table = connection.prepare(`SELECT 1 FROM sqlite_master WHERE name = '_prisma_migrations'`).get();
  if (table === undefined) return [];
  const rows = connection
    .prepare<[], { name: string; checksum: string; finished: number }>(
      `SELECT migration_name AS name, checksum, finished_at IS NOT NULL AS finished FROM _prisma_migrations
       WHERE rolled_back_at IS NULL ORDER BY migration_name`,
    )
    .all();
  return rows.map((row) => ({ ...row, finished: row.finished === 1 }));
}

/**
 * Refuses a database file that a newer version of the program has changed. Only reads it.
 *
 * @throws Refusal `newer-database` naming the migrations that are unknown
 */
export function refuseNewerDatabase(databaseFile: string): void {
  const otherwise =
    'restore a backup that this version made (gemel restore FILE), or name another folder in GEMEL_DATA';
  refuseUnknown('sqlite', databaseFile, readNoted(databaseFile), otherwise);
}

/**
 * Applies the migrations that a database file lacks, all of them in one transaction, and returns their names. Whoever
 * starts at the same time waits and then finds them applied.
 *
 * @throws Refusal `newer-database` where it has others
 */
export function applyMigrations(databaseFile: string): string[] {
  refuseNewerDatabase(databaseFile);
  if (lackingMigrations('sqlite', readNoted(databaseFile)).length === 0) return [];
  const connection = new Database(databaseFile, { timeout: lockTimeoutMs });
  try {
    // A table that is made again under its name would take the rows that refer to it along; checked below instead.
    connection.pragma('foreign_keys = OFF');
    return connection.transaction(() => applyLacking(connection)).immediate();
  } finally {
    connection.close();
  }
}

function applyLacking(connection: Database.Database): string[] {
  connection.exec(notesTable);
  const migrations = lackingMigrations('sqlite', notedIn(connection));
  const note = connection.prepare(
    `INSERT INTO _prisma_migrations (id, checksum, finished_at, migration_name, started_at, applied_steps_count)
     VALUES (?, ?, ?, ?, ?, 1)`,
  );
  connection.exec('DELETE FROM _prisma_migrations WHERE finished_at IS NULL');
  for (const { name, sql, checksum } of migrations) {
    const startedAt = Date.now();
    connection.exec(sql);
    note.run(randomUUID(), checksum, Date.now(), name, startedAt);
  }
  const broken = connection.pragma('foreign_key_check') as { table: string }[];
  if (broken.length > 0)
    throw new Error(`After the migrations ${broken[0].table} has rows that refer to nothing.`);
  return migrations.map(({ name }) => name);
}
