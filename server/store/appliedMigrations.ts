import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { fieldError, Refusal } from '../errors.ts';
import { projectRoot } from '../projectRoot.ts';

export const migrationsFolder = join(projectRoot, 'prisma', 'migrations');

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

/**
 * The migrations that a database file notes, in order; none where it has no such table or is not there. A plain read:
 * the engine itself demands the file for itself alone, which a database that a service has open cannot give.
 */
function readNoted(databaseFile: string): NotedMigration[] {
  if (!existsSync(databaseFile)) return [];
  const connection = new Database(databaseFile, { readonly: true, timeout: 10_000 });
  try {
    const table = connection.prepare(`SELECT 1 FROM sqlite_master WHERE name = '_prisma_migrations'`).get();
    if (table === undefined) return [];
    return connection
      .prepare<[], NotedMigration>(
        `SELECT migration_name AS name, checksum, finished_at IS NOT NULL AS finished FROM _prisma_migrations
         WHERE rolled_back_at IS NULL ORDER BY migration_name`,
      )
      .all();
  } finally {
    connection.close();
  }
}

/** Whether the database has exactly the present migrations, each finished and unchanged since. */
export function isUpToDate(databaseFile: string): boolean {
  const applied = readNoted(databaseFile)
    .filter(({ finished }) => finished === 1)
    .map(({ name, checksum }) => `${name} ${checksum}`);
  const present = migrationNames().map((name) => {
    const sql = readFileSync(join(migrationsFolder, name, 'migration.sql'));
    return `${name} ${createHash('sha256').update(sql).digest('hex')}`;
  });
  return JSON.stringify(applied) === JSON.stringify(present);
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
