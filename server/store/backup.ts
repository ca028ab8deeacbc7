import { copyFileSync, existsSync, mkdirSync, renameSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { Refusal } from '../errors.ts';
import type { Store } from './store.ts';

/** Copies the database into a new file as of one moment; others may read and write meanwhile. */
export async function backupDatabase(store: Store, file: string): Promise<void> {
  mkdirSync(dirname(file), { recursive: true });
  const part = `${file}.part`;
  try {
    await store.connection.backup(part);
    renameSync(part, file);
  } finally {
    rmSync(part, { force: true });
  }
}

/**
 * Puts a backup in the place of the database file. Nothing is touched unless the backup is a whole gemel database.
 *
 * @returns the name under which the earlier database is kept, or null where there was none
 */
export async function restoreDatabase(
  backup: string,
  databaseFile: string,
  now: Date,
): Promise<string | null> {
  checkBackup(backup);
  mkdirSync(dirname(databaseFile), { recursive: true });
  const incoming = `${databaseFile}.incoming`;
  copyFileSync(backup, incoming);
  let kept: string | null = null;
  if (existsSync(databaseFile)) {
    // Takes what waits in the write-ahead log into the file, so that the file alone is whole when it is moved.
    const present = new Database(databaseFile);
    try {
      present.pragma('wal_checkpoint(TRUNCATE)');
    } finally {
      present.close();
    }
    kept = `${databaseFile}.before-${now.toISOString().replace(/[:.]/g, '-')}`;
    renameSync(databaseFile, kept);
    for (const rest of ['-wal', '-shm']) rmSync(`${databaseFile}${rest}`, { force: true });
  }
  renameSync(incoming, databaseFile);
  return kept;
}

function checkBackup(file: string): void {
  if (!existsSync(file)) throw new Refusal('not-found', `There is no file ${file}.`);
  let reason: string | null = null;
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
      if (check !== 'ok') reason = `its integrity check says: ${String(check)}`;
      else if (tables !== 4) reason = 'it is not a database of gemel';
    } finally {
      database.close();
    }
  } catch (error) {
    reason = error instanceof Error ? error.message : String(error);
  }
  if (reason !== null)
    throw new Refusal('invalid-request', `${file} cannot be restored: ${reason}. Nothing was changed.`);
}
