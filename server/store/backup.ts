import { copyFileSync, existsSync, linkSync, mkdirSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { fieldError, Refusal, storageRefusal } from '../errors.ts';
import { withoutPassword } from './postgresqlAddress.ts';
import { busyTimeoutMs, openConnection } from './sqlite.ts';
import { refuseNewerDatabase } from './sqliteMigrations.ts';
import type { Store } from './store.ts';

/** Pages copied before the thread does something else: at 16 KiB each, about 8 MiB. */
const pagesAtATime = 500;

/**
 * Copies the database into a new file as of one moment; others may read and write meanwhile, and what they write neither
 * gets into the copy nor makes it begin again.
 *
 * @param onProgress is called with the share done between two pieces; may throw to stop, which leaves no file
 * @throws Refusal `storage-read-only` or `storage-full` naming the file that cannot be written
 */
export async function backupDatabase(
  store: Pick<Store, 'place'>,
  file: string,
  onProgress: (share: number) => void = () => {},
): Promise<void> {
  const databaseFile = ownFileOf(store, file);
  const part = `${file}.part`;
  let stopped: { error: unknown } | null = null;
  const source = openConnection(databaseFile);
  try {
    mkdirSync(dirname(file), { recursive: true });
    // The read holds one state of the database for as long as the copy takes.
    source.exec('BEGIN');
    source.prepare('SELECT COUNT(*) FROM sqlite_master').get();
    await source.backup(part, {
      progress: ({ totalPages, remainingPages }) => {
        try {
          if (totalPages > 0) onProgress(1 - remainingPages / totalPages);
        } catch (error) {
          stopped = { error };
          throw error;
        }
        return pagesAtATime;
      },
    });
    renameSync(part, file);
  } catch (error) {
    if (stopped !== null) throw (stopped as { error: unknown }).error;
    const reason = error instanceof Error ? error.message : String(error);
    const code = storageRefusal(error)?.code ?? 'storage-read-only';
    throw new Refusal(code, `The backup cannot be written to ${file}: ${reason}.`, [
      fieldError('file', file, reason, 'a file in a folder that may be written, with room for the database'),
    ]);
  } finally {
    source.close();
    for (const suffix of ['', ...companions]) if (existsSync(`${part}${suffix}`)) rmSync(`${part}${suffix}`);
  }
}

/**
 * The file that a backup copies. @throws Refusal `invalid-request` with the command that does it, where the database is
 * on a PostgreSQL server: what that server's own tool writes can be read by all its other tools.
 */
export function ownFileOf({ place }: Pick<Store, 'place'>, file = 'gemel.dump'): string {
  if (place.kind === 'sqlite') return place.file;
  throw new Refusal(
    'invalid-request',
    `The database is on a PostgreSQL server, which is backed up with its own tool: pg_dump --format=custom --file=${file} ${withoutPassword(place.url)} (and back with pg_restore --dbname=…).`,
  );
}

/** What SQLite keeps beside a database under its name, and would apply to whatever file then has that name. */
const companions = ['-wal', '-shm', '-journal'] as const;

/**
 * Puts a backup in the place of the database file. Nothing is touched unless the backup is a whole gemel database and
 * nobody has the present one open; a complete database exists under that name at all times. What lies beside the name,
 * a log whose database was moved away for one, is set aside first, and the database is checked again where it then is.
 *
 * @returns the name under which the earlier database (or what was left of it) is kept, or null where there was none
 * @throws Refusal `not-found`, `invalid-request` for a file that is not a backup, `newer-database`, `in-use` while the
 *   database is open, `storage-damaged` where the copy is not whole; the earlier database is then in its place again
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
  const kept = `${databaseFile}.before-${now.toISOString().replace(/[:.]/g, '-')}`;
  const present = existsSync(databaseFile);
  try {
    for (const suffix of ['', ...companions]) rmSync(`${incoming}${suffix}`, { force: true });
    copyFileSync(backup, incoming);
    if (present) {
      closeLog(databaseFile);
      linkSync(databaseFile, kept);
    }
    const setAside = setCompanionsAside(databaseFile, kept);
    renameSync(incoming, databaseFile);
    const fault = faultOf(databaseFile, false);
    if (fault !== null) {
      if (present) renameSync(kept, databaseFile);
      else rmSync(databaseFile);
      throw new Refusal(
        'storage-damaged',
        `The copy of ${backup} is not whole: ${fault}. Nothing was changed.`,
      );
    }
    return present || setAside ? kept : null;
  } finally {
    rmSync(incoming, { force: true });
  }
}

/** Moves what lies beside the database's name to beside the name that is kept; whether there was a log or journal. */
function setCompanionsAside(databaseFile: string, kept: string): boolean {
  let found = false;
  for (const suffix of companions) {
    if (!existsSync(`${databaseFile}${suffix}`)) continue;
    // The index of a log holds nothing that the log does not.
    if (suffix === '-shm') rmSync(`${databaseFile}-shm`);
    else renameSync(`${databaseFile}${suffix}`, `${kept}${suffix}`);
    found ||= suffix !== '-shm';
  }
  return found;
}

/**
 * Refuses a database whose pages are damaged, before anything is written to it: a service that goes on writing would
 * spread the damage.
 *
 * @throws Refusal `storage-damaged` with what SQLite's quick check says
 */
export function refuseDamagedDatabase(databaseFile: string): void {
  if (!existsSync(databaseFile)) return;
  // Only read: closing a database that may be written would take its log into it.
  const fault = whatFails(databaseFile, true, 'quick_check', () => null);
  if (fault === null) return;
  throw new Refusal(
    'storage-damaged',
    `${databaseFile} is damaged: ${fault}. Nothing was changed. Put a backup in its place: gemel restore FILE.`,
  );
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
  if (reason === null) reason = faultOf(file, true);
  if (reason !== null)
    throw new Refusal('invalid-request', `${file} cannot be restored: ${reason}. Nothing was changed.`);
}

/** What keeps a file from being a backup; null where nothing does. */
function faultOf(file: string, readonly: boolean): string | null {
  return whatFails(file, readonly, 'integrity_check', (database) => {
    const tables = database
      .prepare(
        "SELECT COUNT(*) AS n FROM sqlite_master WHERE type = 'table' AND name IN ('Cell', 'Record', 'Fit', '_prisma_migrations')",
      )
      .pluck()
      .get();
    return tables === 4 ? null : 'it is not a database of gemel';
  });
}

/** What a check of SQLite, and then another one, says against a file; null where nothing. */
function whatFails(
  file: string,
  readonly: boolean,
  check: 'integrity_check' | 'quick_check',
  other: (database: Database.Database) => string | null,
): string | null {
  try {
    const database = new Database(file, { readonly, timeout: busyTimeoutMs });
    try {
      const said = String(database.pragma(`${check}(1)`, { simple: true }));
      return said === 'ok' ? other(database) : `its check says: ${said}`;
    } finally {
      database.close();
    }
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}
