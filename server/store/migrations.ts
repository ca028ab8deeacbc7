import { createHash, randomUUID } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { fieldError, Refusal } from '../errors.ts';
import { projectRoot } from '../projectRoot.ts';

export const migrationsFolder = join(projectRoot, 'prisma', 'migrations');
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

/** Names of the migrations in prisma/migrations, in order. */
export function migrationNames(): string[] {
  return readdirSync(migrationsFolder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(join(migrationsFolder, entry.name, 'migration.sql')))
    .map((entry) => entry.name)
    .sort();
}

interface NotedMigration {
  readonly name: string;
  readonly checksum: string;
  readonly finished: number;
}

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
  return connection
    .prepare<[], NotedMigration>(
      `SELECT migration_name AS name, checksum, finished_at IS NOT NULL AS finished FROM _prisma_migrations
       WHERE rolled_back_at IS NULL ORDER BY migration_name`,
    )
    .all();
}

/**
 * Refuses a database that a newer version of the program has changed: what that version keeps in it is unknown here, and
 * writing to it could destroy it. Only reads the file.
 *
 * @throws Refusal `newer-database` naming the migrations that are unknown
 */
export function refuseNewerDatabase(databaseFile: string): void {
  const known = new Set(migrationNames());
  const unknown = readNoted(databaseFile).filter(({ name }) => !known.has(name));
  if (unknown.length === 0) return;
  throw new Refusal(
    'newer-database',
    `${databaseFile} was written by a newer version of this program: it has ${unknown.length === 1 ? 'a migration' : 'migrations'} that this version does not know. Nothing was changed. Update the program, or restore a backup that this version made (gemel restore FILE), or name another folder in GEMEL_DATA.`,
    unknown.map(({ name }) =>
      fieldError('migration', name, 'is not known to this version', `none after ${migrationNames().at(-1)}`),
    ),
  );
}

interface Migration {
  readonly name: string;
  readonly sql: string;
  readonly checksum: string;
}

function presentMigrations(): Migration[] {
  return migrationNames().map((name) => {
    const sql = readFileSync(join(migrationsFolder, name, 'migration.sql'), 'utf8');
    return { name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
  });
}

/** The migrations that the noted ones lack. @throws Error where one was changed after it had been applied */
function lacking(noted: readonly NotedMigration[]): Migration[] {
  const finished = new Map(
    noted.filter((each) => each.finished === 1).map(({ name, checksum }) => [name, checksum]),
  );
  return presentMigrations().filter(({ name, checksum }) => {
    const applied = finished.get(name);
    if (applied === undefined || applied === checksum) return applied === undefined;
    throw new Error(`The migration ${name} was changed after this database had it applied.`);
  });
}

/**
 * Applies the migrations that a database lacks, all of them in one transaction, and returns their names. Whoever starts at the same time waits
 * and then finds them applied.
 *
 * @throws Refusal `newer-database` where it has others
 */
export function applyMigrations(databaseFile: string): string[] {
  refuseNewerDatabase(databaseFile);
  if (lacking(readNoted(databaseFile)).length === 0) return [];
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
  const migrations = lacking(notedIn(connection));
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
