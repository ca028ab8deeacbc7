import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { fieldError, Refusal, storageRefusal } from '../errors.ts';
import { applyMigrations } from './migrations.ts';
import type { Queries } from './queries.ts';
import { busyTimeoutMs, sqliteStore } from './sqlite.ts';

/** A value that a statement takes as a parameter. */
export type SqlValue = string | number | bigint | Uint8Array | null;

/**
 * The only door to the database. Everything is asynchronous, so that nobody waits for another's work. What must happen
 * together (what a change rests on, the change, its audit entry) is one transaction.
 */
export interface Store {
  readonly file: string;
  /** Queries whose types follow from the schema. */
  readonly db: Queries;
  /** All rows of a query. `Row` states what the query selects. */
  all<Row>(sql: string, ...values: SqlValue[]): Promise<Row[]>;
  /** The first row of a query, or undefined. */
  get<Row>(sql: string, ...values: SqlValue[]): Promise<Row | undefined>;
  /** Changes rows; returns how many, and the identifier of an inserted one. */
  run(sql: string, ...values: SqlValue[]): Promise<{ changes: number; id: number }>;
  /**
   * Runs `work` as one transaction: all of it happens or, when it throws, nothing. What belongs to it goes through the
   * store that `work` is given, and nothing of anyone else can come between. Inside another transaction it is a part of
   * that one, and undone alone when it throws.
   */
  transaction<T>(work: (tx: Store) => Promise<T>): Promise<T>;
  /** The writing connection itself, for a backup. */
  readonly connection: Database.Database;
  close(): Promise<void>;
}

/** @deprecated the same as {@link Store} */
export type SqlStore = Store;

/** Larger than SQLite's own choice: most of the bytes are packed samples, which so need a quarter of the pages. */
const pageBytes = 16_384;

/** Makes the database file where there is none, with the page size that can be chosen only now. */
export function createDatabaseFile(file: string): void {
  try {
    mkdirSync(dirname(file), { recursive: true });
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? 'unknown';
    throw new Refusal('storage-read-only', `The folder ${dirname(file)} of the database cannot be made.`, [
      fieldError('GEMEL_DATA', dirname(file), `the system says ${code}`, 'a folder that may be written'),
    ]);
  }
  if (existsSync(file)) return;
  const connection = new Database(file, { timeout: busyTimeoutMs });
  connection.pragma(`page_size = ${pageBytes}`);
  connection.pragma('journal_mode = WAL');
  connection.close();
}

/**
 * Opens the database file, making it and its folder where they are missing, and applies the migrations it lacks.
 *
 * @param file path of the SQLite file
 * @throws Refusal naming the file: `storage-read-only`, `storage-damaged`, `storage-busy`, `storage-full`,
 *   `newer-database`
 */
export async function openStore(file: string): Promise<Store> {
  try {
    createDatabaseFile(file);
    applyMigrations(file);
    return sqliteStore(file);
  } catch (error) {
    const refusal = error instanceof Refusal ? null : storageRefusal(error);
    throw refusal === null ? error : new Refusal(refusal.code, `${file}: ${refusal.message}`);
  }
}

/** Opens a further store over a database that exists and is up to date, for a worker thread. */
export function openSqlStore(file: string): Store {
  return sqliteStore(file);
}
