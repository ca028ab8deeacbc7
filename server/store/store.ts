import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import Database from 'better-sqlite3';
import { fieldError, Refusal, storageRefusal } from '../errors.ts';
import { PrismaClient } from './client/client.ts';
import { applyMigrations } from './schemaEngine.ts';

/** A value that SQLite takes as a parameter. */
export type SqlValue = string | number | bigint | Uint8Array | null;

/**
 * The only door to the database. Reads on which nothing else hangs may go through Prisma; everything that must happen
 * together (what a change rests on, the change, its audit entry), through prepared statements on a second connection.
 *
 * Why transactions are not Prisma's: its adapter keeps one connection, so that a statement of another request that
 * comes while an interactive transaction is open would run inside it. A synchronous transaction cannot be entered.
 */
export interface Store extends SqlStore {
  readonly prisma: PrismaClient;
}

/** The part of the store that is SQL alone, which is all that a worker thread needs. */
export interface SqlStore {
  readonly file: string;
  /** All rows of a query. `Row` states what the query selects. */
  all<Row>(sql: string, ...values: SqlValue[]): Row[];
  /** The first row of a query, or undefined. */
  get<Row>(sql: string, ...values: SqlValue[]): Row | undefined;
  /** Changes rows; returns how many, and the identifier of an inserted one. */
  run(sql: string, ...values: SqlValue[]): { changes: number; id: number };
  /** Runs `work` as one transaction: all of it happens or, when it throws, nothing. `work` must not await. */
  transaction<T>(work: () => T): T;
  /** The connection itself, for the chunk reader and writer. */
  readonly connection: Database.Database;
  close(): Promise<void>;
}

const busyTimeoutMs = 10_000;

/** Opens a connection with the settings that every writer of the file needs. */
export function openConnection(file: string): Database.Database {
  const connection = new Database(file, { timeout: busyTimeoutMs });
  connection.pragma('journal_mode = WAL');
  connection.pragma('synchronous = FULL');
  connection.pragma('foreign_keys = ON');
  return connection;
}

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
    return await open(file);
  } catch (error) {
    const refusal = error instanceof Refusal ? null : storageRefusal(error);
    throw refusal === null ? error : new Refusal(refusal.code, `${file}: ${refusal.message}`);
  }
}

async function open(file: string): Promise<Store> {
  createDatabaseFile(file);
  await applyMigrations(file);
  const connection = openConnection(file);
  const prisma = new PrismaClient({
    adapter: new PrismaBetterSqlite3({ url: `file:${file}`, timeout: busyTimeoutMs }),
  });
  await prisma.$queryRawUnsafe('PRAGMA synchronous = FULL');
  await prisma.$queryRawUnsafe('PRAGMA foreign_keys = ON');
  const sql = sqlStore(file, connection);
  return {
    ...sql,
    prisma,
    close: async () => {
      await prisma.$disconnect();
      await sql.close();
    },
  };
}

/** Opens a further connection to a database that exists and is up to date, for a worker thread. */
export function openSqlStore(file: string): SqlStore {
  return sqlStore(file, openConnection(file));
}

function sqlStore(file: string, connection: Database.Database): SqlStore {
  const prepared = new Map<string, Database.Statement>();
  const statement = (sql: string): Database.Statement => {
    const known = prepared.get(sql);
    if (known) return known;
    // Texts of queries are few; a run-away list of them would be a fault, so the oldest goes.
    if (prepared.size >= 500) prepared.delete(prepared.keys().next().value ?? '');
    const made = connection.prepare(sql);
    prepared.set(sql, made);
    return made;
  };
  return {
    file,
    connection,
    all: <Row>(sql: string, ...values: SqlValue[]) => statement(sql).all(...values) as Row[],
    get: <Row>(sql: string, ...values: SqlValue[]) => statement(sql).get(...values) as Row | undefined,
    run: (sql, ...values) => {
      const result = statement(sql).run(...values);
      return { changes: result.changes, id: Number(result.lastInsertRowid) };
    },
    transaction: (work) => connection.transaction(work).immediate(),
    close: async () => {
      connection.close();
    },
  };
}
