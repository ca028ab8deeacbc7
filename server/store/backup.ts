import { copyFileSync, existsSync, linkSync, mkdirSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { fieldError, Refusal, storageRefusal } from '../errors.ts';
import { refuseNewerDatabase } from './migrations.ts';
import type { Store } from './store.ts';

/**
 * Copies the database into a new file as of one moment; others may read and write meanwhile.
 *
 * @throws Refusal `storage-read-only` or `storage-full` naming the file that cannot be written
 */
export async function backupDatabase(store: Store, file: string): Promise<void> {
  const part = `${file}.part`;
  try {
    mkdirSync(dirname(file), { recursive: true });
    try {
      await store.connection.backup(part);
      renameSync(part, file);
    } finally {
      rmSync(part, { force: true });
    }
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    const code = storageRefusal(error)?.code ?? 'storage-read-only';
    throw new Refusal(code, `The backup cannot be written to ${file}: ${reason}.`, [
      fieldError('file', file, reason, 'a file in a folder that may be written, with room for the database'),
    ]);
  }
}

/**
 * Puts a backup in the place of the database file. Nothing is touched unless the backup is a whole gemel database and
 * nobody has the present one open; at no moment is there no database under its name.
 *
 * @returns the name under which the earlier database is kept, or null where there was none
 * @throws Refusal `not-found`, `invalid-request` for a file that is no backup, `newer-database`, `in-use` while the database is open
 */
export async function restoreDatabase(
  backup: string,
  databaseFile: string,
  now: Date,
): Promise<string | null> {
  checkBackup(backup);
  refuseNewerDatabase(backup);
  mkdirSync(dirname(databaseFile), { recursive: true });
  const incoming = `${databaseFile}.incoming`;
  try {
    copyFileSync(backup, incoming);
    const kept = existsSync(databaseFile) ? keepPresent(databaseFile, now) : null;
    renameSync(incoming, databaseFile);
    return kept;
  } finally {
    rmSync(incoming, { force: true });
  }
}

/** Gives the present database, whole or damaged, a second name; nobody may be writing to it. */
function keepPresent(databaseFile: string, now: Date): string {
  closeLog(databaseFile);
  const kept = `${databaseFile}.before-${now.toISOString().replace(/[:.]/g, '-')}`;
  linkSync(databaseFile, kept);
  // Only a damaged database still has a log here. It must not be taken for that of the database that comes in.
  if (existsSync(`${databaseFile}-wal`)) renameSync(`${databaseFile}-wal`, `${kept}-wal`);
  rmSync(`${databaseFile}-shm`, { force: true });
  return kept;
}

/**
 * Takes the write-ahead log into the database file. That succeeds only for the one who has the file alone: a service
 * that runs would go on writing to the file that is replaced.
 */
function closeLog(databaseFile: string): void {
  const present = new Database(databaseFile, { timeout: 1000 });
  try {
    if (present.pragma('journal_mode = DELETE', { simple: true }) !== 'delete') throw inUse(databaseFile);
  } catch (error) {
    if (storageRefusal(error)?.code === 'storage-busy') throw inUse(databaseFile);
    const code = error instanceof Database.SqliteError ? error.code : '';
    if (!code.startsWith('SQLITE_NOTADB') && !code.startsWith('SQLITE_CORRUPT')) throw error;
  } finally {
    present.close();
  }
}

function inUse(databaseFile: string): Refusal {
  return new Refusal(
    'in-use',
    `${databaseFile} is open in a service or command; end that first. Nothing was changed.`,
  );
}

function checkBackup(file: string): void {
  if (!existsSync(file)) throw new Refusal('not-found', `There is no file ${file}.`);
  let reason: string | null = statSync(file).isFile() ? null : 'it is a folder, not a file';
  if (reason === null) reason = faultOf(file);
  if (reason !== null)
    throw new Refusal('invalid-request', `${file} cannot be restored: ${reason}. Nothing was changed.`);
}

/** What keeps a file from being a backup; null where nothing does. */
function faultOf(file: string): string | null {
  try {
    const database = new Database(file, { readonly: true });
    try {
      const check = database.pragma('integrity_check', { simple: true });
      const tables = database
        .prepare(
          "SELECT COUNT(*) AS n FROM sqlite_master WHERE type = 'table' AND name IN ('Cell', 'Record', 'Fit', '_prisma_migrations')",
        )
        .pluck()
        .get();
      if (check !== 'ok') return `its integrity check says: ${String(check)}`;
      return tables === 4 ? null : 'it is not a database of gemel';
    } finally {
      database.close();
    }
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}
