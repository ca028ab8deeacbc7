import { AsyncLocalStorage } from 'node:async_hooks';
import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import Database from 'better-sqlite3';
import type { QueryResult } from 'kysely';
import { fieldError, Refusal, storageRefusal } from '../errors.ts';
import { changingTheTable, viewsOfShownRows } from './hiddenRows.ts';
import { type Execute, queriesOver } from './queries.ts';
import { applyMigrations } from './sqliteMigrations.ts';
import type { Store } from './store.ts';
import { Turns } from './turns.ts';

/** A store over a file, with the connection that writes. */
export interface SqliteStore extends Store {
  readonly connection: Database.Database;
}

/** How long a writer of another process or thread is waited for. */
export const busyTimeoutMs = 10_000;
const firstWaitMs = 1;
const longestWaitMs = 16;
/** Texts of queries are few; a run-away list of them would be a fault, so the oldest goes. */
const maxPrepared = 500;

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

/** Makes the file where it is missing, applies the migrations it lacks, and opens it. @throws Refusal as `openStore` */
export function openSqlite(file: string): SqliteStore {
  try {
    createDatabaseFile(file);
    applyMigrations(file);
    return sqliteStore(file);
  } catch (error) {
    const refusal = error instanceof Refusal ? null : storageRefusal(error);
    throw refusal === null ? error : new Refusal(refusal.code, `${file}: ${refusal.message}`);
  }
}

/** Opens a connection that sees what is shown, see {@link viewsOfShownRows}. */
function openShown(file: string): Database.Database {
  const connection = openConnection(file);
  connection.exec(viewsOfShownRows);
  return connection;
}

/** Opens a connection with the settings that every user of the file needs. */
export function openConnection(file: string): Database.Database {
  const connection = new Database(file, { timeout: busyTimeoutMs });
  connection.pragma('journal_mode = WAL');
  connection.pragma('synchronous = FULL');
  connection.pragma('foreign_keys = ON');
  // Parts of transactions would be kept in the folder for temporary files, which may be full while the database's is not.
  connection.pragma('temp_store = MEMORY');
  // From here on a lock is waited for without blocking the thread.
  connection.pragma('busy_timeout = 0');
  return connection;
}

/** Runs one statement again while another process or thread has the database, and lets the thread work meanwhile. */
async function whenFree<T>(work: () => T): Promise<T> {
  const givesUpAt = performance.now() + busyTimeoutMs;
  for (let waitMs = firstWaitMs; ; waitMs = Math.min(2 * waitMs, longestWaitMs)) {
    try {
      return work();
    } catch (error) {
      if (storageRefusal(error)?.code !== 'storage-busy' || performance.now() > givesUpAt) throw error;
    }
    await delay(waitMs);
  }
}

class Statements {
  private readonly prepared = new Map<string, Database.Statement>();
  private readonly connection: Database.Database;

  constructor(connection: Database.Database) {
    this.connection = connection;
  }

  of(sql: string): Database.Statement {
    const known = this.prepared.get(sql);
    if (known) return known;
    if (this.prepared.size >= maxPrepared) this.prepared.delete(this.prepared.keys().next().value ?? '');
    const made = this.connection.prepare(changingTheTable(sql));
    this.prepared.set(sql, made);
    return made;
  }
}

/**
 * A store over one SQLite file. Reads go through a connection of their own, so that they see what is committed and wait
 * for no writer; transactions take the writing connection one after another, so that nothing of another request can
 * come between.
 */
export function sqliteStore(file: string): SqliteStore {
  const place = { kind: 'sqlite', file } as const;
  const writer = openShown(file);
  const reader = openShown(file);
  reader.pragma('query_only = ON');
  const writing: Writing = { connection: writer, statements: new Statements(writer) };
  const reading = new Statements(reader);
  let everything: Writing | null = null;
  const turns = new Turns();
  const inside = new AsyncLocalStorage<true>();

  /** What is outside a transaction would not see its changes, and a change would wait for itself. */
  function refuseInside(): void {
    if (inside.getStore()) throw new Error('The store was used inside its own transaction.');
  }

  async function transactionOn<T>(
    { connection, statements }: Writing,
    work: (tx: Store) => Promise<T>,
  ): Promise<T> {
    refuseInside();
    const leave = await turns.take();
    try {
      await whenFree(() => connection.exec('BEGIN IMMEDIATE'));
      const open = { ended: false };
      try {
        const part = { connection, statements, place, open };
        const result = await inside.run(true, async () => work(transactionStore(part)));
        connection.exec('COMMIT');
        return result;
      } catch (error) {
        // SQLite itself has ended the transaction after some failures, a full disk for one.
        if (connection.inTransaction) connection.exec('ROLLBACK');
        throw error;
      } finally {
        open.ended = true;
      }
    } finally {
      leave();
    }
  }

  const transaction = <T>(work: (tx: Store) => Promise<T>) => transactionOn(writing, work);

  /** On a connection of its own, opened by the first file that is stored in pieces. */
  async function beneath<T>(work: (tx: Store) => Promise<T>): Promise<T> {
    if (everything === null) {
      const connection = openConnection(file);
      everything = { connection, statements: new Statements(connection) };
    }
    return transactionOn(everything, work);
  }

  /** Runs a statement where it belongs: one that changes something as a transaction of its own. */
  async function alone<T>(sql: string, use: (statement: Database.Statement) => T): Promise<T> {
    refuseInside();
    const read = await whenFree(() => reading.of(sql));
    if (read.readonly) return whenFree(() => use(read));
    return transaction(async () => use(writing.statements.of(sql)));
  }

  return {
    place,
    connection: writer,
    db: queriesOver('sqlite', ({ sql, parameters }) =>
      alone(sql, (statement) => runQuery(statement, parameters)),
    ),
    transaction,
    beneath,
    close: async () => {
      const leave = await turns.take();
      reader.close();
      writer.close();
      everything?.connection.close();
      leave();
    },
  };
}

/** A connection that changes something, with its statements. */
interface Writing {
  readonly connection: Database.Database;
  readonly statements: Statements;
}

/** What a transaction's store runs on; `ended` as soon as the transaction has. */
interface OpenTransaction extends Writing {
  readonly place: Store['place'];
  readonly open: { ended: boolean };
}

/** The store of an open transaction, or of a part of it. */
function transactionStore(on: OpenTransaction): Store {
  const nested = new Turns();
  const statement = (sql: string): Database.Statement => {
    if (on.open.ended) throw new Error('The transaction has ended: a statement of it was not awaited.');
    return on.statements.of(sql);
  };
  const execute: Execute = async ({ sql, parameters }) => runQuery(statement(sql), parameters);
  return {
    place: on.place,
    db: queriesOver('sqlite', execute),
    // A part of a transaction: when it throws, what it did is undone and the rest may go on.
    transaction: async (work) => {
      const leave = await nested.take();
      try {
        statement('SAVEPOINT part').run();
        try {
          const result = await work(transactionStore(on));
          statement('RELEASE part').run();
          return result;
        } catch (error) {
          if (on.connection.inTransaction) {
            statement('ROLLBACK TO part').run();
            statement('RELEASE part').run();
          }
          throw error;
        }
      } finally {
        leave();
      }
    },
    beneath: null,
    close: async () => {},
  };
}

function runQuery(statement: Database.Statement, parameters: readonly unknown[]): QueryResult<unknown> {
  if (statement.reader) return { rows: statement.all(...parameters) };
  const { changes, lastInsertRowid } = statement.run(...parameters);
  return { rows: [], numAffectedRows: BigInt(changes), insertId: BigInt(lastInsertRowid) };
}
