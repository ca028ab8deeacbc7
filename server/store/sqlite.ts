import { AsyncLocalStorage } from 'node:async_hooks';
import { setTimeout as delay } from 'node:timers/promises';
import Database from 'better-sqlite3';
import type { QueryResult } from 'kysely';
import { storageRefusal } from '../errors.ts';
import { type Execute, queriesOver } from './queries.ts';
import type { SqlValue, Store } from './store.ts';

/** How long a writer of another process or thread is waited for. */
export const busyTimeoutMs = 10_000;
const firstWaitMs = 1;
const longestWaitMs = 16;
/** Texts of queries are few; a run-away list of them would be a fault, so the oldest goes. */
const maxPrepared = 500;

/** Opens a connection with the settings that every user of the file needs. */
export function openConnection(file: string): Database.Database {
  const connection = new Database(file, { timeout: busyTimeoutMs });
  connection.pragma('journal_mode = WAL');
  connection.pragma('synchronous = FULL');
  connection.pragma('foreign_keys = ON');
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

/** Lets one after another in, in the order they came. */
class Turns {
  private last: Promise<void> = Promise.resolve();

  async take(): Promise<() => void> {
    const before = this.last;
    let leave = (): void => {};
    this.last = new Promise((resolve) => {
      leave = resolve;
    });
    await before;
    return leave;
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
    const made = this.connection.prepare(sql);
    this.prepared.set(sql, made);
    return made;
  }
}

/**
 * A store over one SQLite file. Reads go through a connection of their own, so that they see what is committed and wait
 * for no writer; transactions take the writing connection one after another, so that nothing of another request can
 * come between.
 */
export function sqliteStore(file: string): Store {
  const writer = openConnection(file);
  const reader = openConnection(file);
  reader.pragma('query_only = ON');
  const writing = new Statements(writer);
  const reading = new Statements(reader);
  const turns = new Turns();
  const inside = new AsyncLocalStorage<true>();

  /** What is outside a transaction would not see its changes, and a change would wait for itself. */
  function refuseInside(): void {
    if (inside.getStore()) throw new Error('The store was used inside its own transaction.');
  }

  async function transaction<T>(work: (tx: Store) => Promise<T>): Promise<T> {
    refuseInside();
    const leave = await turns.take();
    try {
      await whenFree(() => writer.exec('BEGIN IMMEDIATE'));
      const open = { ended: false };
      try {
        const result = await inside.run(true, async () => work(transactionStore(open)));
        writer.exec('COMMIT');
        return result;
      } catch (error) {
        // SQLite itself has ended the transaction after some failures, a full disk for one.
        if (writer.inTransaction) writer.exec('ROLLBACK');
        throw error;
      } finally {
        open.ended = true;
      }
    } finally {
      leave();
    }
  }

  function transactionStore(open: { ended: boolean }): Store {
    const nested = new Turns();
    const statement = (sql: string): Database.Statement => {
      if (open.ended) throw new Error('The transaction has ended: a statement of it was not awaited.');
      return writing.of(sql);
    };
    const execute: Execute = async ({ sql, parameters }) => runQuery(statement(sql), parameters);
    const tx: Store = {
      file,
      connection: writer,
      db: queriesOver(execute),
      all: async <Row>(sql: string, ...values: SqlValue[]) => statement(sql).all(...values) as Row[],
      get: async <Row>(sql: string, ...values: SqlValue[]) =>
        statement(sql).get(...values) as Row | undefined,
      run: async (sql, ...values) => resultOf(statement(sql).run(...values)),
      // A part of a transaction: when it throws, what it did is undone and the rest may go on.
      transaction: async (work) => {
        const leave = await nested.take();
        try {
          statement('SAVEPOINT part').run();
          try {
            const result = await work(transactionStore(open));
            statement('RELEASE part').run();
            return result;
          } catch (error) {
            if (writer.inTransaction) {
              statement('ROLLBACK TO part').run();
              statement('RELEASE part').run();
            }
            throw error;
          }
        } finally {
          leave();
        }
      },
      close: async () => {},
    };
    return tx;
  }

  /** Runs a statement where it belongs: one that changes something as a transaction of its own. */
  async function alone<T>(sql: string, use: (statement: Database.Statement) => T): Promise<T> {
    refuseInside();
    const read = await whenFree(() => reading.of(sql));
    if (read.readonly) return whenFree(() => use(read));
    return transaction(async () => use(writing.of(sql)));
  }

  return {
    file,
    connection: writer,
    db: queriesOver(({ sql, parameters }) => alone(sql, (statement) => runQuery(statement, parameters))),
    all: async <Row>(sql: string, ...values: SqlValue[]) =>
      alone(sql, (statement) => statement.all(...values) as Row[]),
    get: async <Row>(sql: string, ...values: SqlValue[]) =>
      alone(sql, (statement) => statement.get(...values) as Row | undefined),
    run: async (sql, ...values) => alone(sql, (statement) => resultOf(statement.run(...values))),
    transaction,
    close: async () => {
      const leave = await turns.take();
      reader.close();
      writer.close();
      leave();
    },
  };
}

function runQuery(statement: Database.Statement, parameters: readonly unknown[]): QueryResult<unknown> {
  if (statement.reader) return { rows: statement.all(...parameters) };
  const { changes, lastInsertRowid } = statement.run(...parameters);
  return { rows: [], numAffectedRows: BigInt(changes), insertId: BigInt(lastInsertRowid) };
}

function resultOf(result: Database.RunResult): { changes: number; id: number } {
  return { changes: result.changes, id: Number(result.lastInsertRowid) };
}
