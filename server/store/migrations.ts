import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fieldError, Refusal } from '../errors.ts';
import { projectRoot } from '../projectRoot.ts';
import type { DatabaseKind } from './differences.ts';

/** A migration of the program, and the SHA-256 by which Prisma's own command knows its text. */
export interface Migration {
  readonly name: string;
  readonly sql: string;
  readonly checksum: string;
}

/** A migration that a database has noted. */
export interface NotedMigration {
  readonly name: string;
  readonly checksum: string;
  readonly finished: boolean;
}

/** Where the migrations of a kind of database are, in the layout of Prisma's own command. */
export function migrationsFolder(kind: DatabaseKind): string {
  return join(projectRoot, 'prisma', 'migrations', kind);
}

/** Names of the migrations of a kind of database, in order. */
export function migrationNames(kind: DatabaseKind): string[] {
  const folder = migrationsFolder(kind);
  return readdirSync(folder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(join(folder, entry.name, 'migration.sql')))
    .map((entry) => entry.name)
    .sort();
}

/**
 * Refuses a database that a newer version of the program has changed: what that version keeps in it is unknown here, and
 * writing to it could destroy it.
 *
 * @param place the database as people know it
 * @param otherwise what helps besides updating the program
 * @throws Refusal `newer-database` naming the migrations that are unknown
 */
export function refuseUnknown(
  kind: DatabaseKind,
  place: string,
  noted: readonly NotedMigration[],
  otherwise: string,
): void {
  const names = migrationNames(kind);
  const known = new Set(names);
  const unknown = noted.filter(({ name }) => !known.has(name));
  if (unknown.length === 0) return;
  throw new Refusal(
    'newer-database',
    `${place} was written by a newer version of this program: it has ${unknown.length === 1 ? 'a migration' : 'migrations'} that this version does not know. Nothing was changed. Update the program, or ${otherwise}.`,
    unknown.map(({ name }) =>
      fieldError('migration', name, 'is not known to this version', `none after ${names.at(-1)}`),
    ),
  );
}

/** The migrations that the noted ones lack. @throws Error where one was changed after it had been applied */
export function lackingMigrations(kind: DatabaseKind, noted: readonly NotedMigration[]): Migration[] {
  const finished = new Map(
    noted.filter((each) => each.finished).map(({ name, checksum }) => [name, checksum]),
  );
  return presentMigrations(kind).filter(({ name, checksum }) => {
    const applied = finished.get(name);
    if (applied === undefined || applied === checksum) return applied === undefined;
    throw new Error(`The migration ${name} was changed after this database had it applied.`);
  });
}

function presentMigrations(kind: DatabaseKind): Migration[] {
  return migrationNames(kind).map((name) => {
    const sql = readFileSync(join(migrationsFolder(kind), name, 'migration.sql'), 'utf8');
    return { name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
  });
}
