import { AsyncLocalStorage } from 'node:async_hooks';
import { setTimeout as delay } from 'node:timers/promises';
import { type CompiledQuery, type QueryResult, SelectQueryNode } from 'kysely';
import pg from 'pg';
import { Refusal, storageRefusal } from '../errors.ts';
import { withoutPassword } from './postgresqlAddress.ts';
import { codeOf, isDisconnection, isGivenUp, isUnsent, uniqueViolation } from './postgresqlFailures.ts';
import { applyMigrations } from './postgresqlMigrations.ts';
import { makePool } from './postgresqlPool.ts';
import { makeQueues } from './postgresqlQueues.ts';
import { nameOfPrepared, queriesOver } from './queries.ts';
import type { DatabasePlace, Isolation, Store } from './store.ts';
import { Turns } from './turns.ts';

type Place = Extract<DatabasePlace, { kind: 'postgresql' }>;

/** Connections of one process; a thread that runs a job has as many of its own, and uses one or two. */
const mostConnections = 10;
/** How long a transaction that others come in the way of is tried again, before it is refused as `storage-busy`. */
const givesUpAfterMs = 10_000;
/**
 * After so many attempts a transaction takes its turn with others of whatever process that were come in the way of as
 * often: in small tables each takes its neighbours for conflicts, and nobody would get anywhere.
 */
const freeAttempts = 3;
/** One that fails in its turn as often, because those that need no turn are quicker, then runs alone. */
const attemptsInTurn = 2;
const firstWaitMs = 2;
const longestWaitMs = 250;

/** Number of the lock that gives those transactions their turn. */
const turnLock = 7_140_235;

/**
 * Begins a transaction that runs beside others, or alone among the serialisable ones: the lock on a table that exists in
 * every database, and that nothing but a start uses, is granted before the transaction sees anything.
 */
const beginnings = {
  snapshot: {
    beside: 'BEGIN ISOLATION LEVEL REPEATABLE READ',
    alone: 'BEGIN ISOLATION LEVEL REPEATABLE READ',
  },
  serializable: {
    beside: 'BEGIN ISOLATION LEVEL SERIALIZABLE; LOCK TABLE "_prisma_migrations" IN ROW SHARE MODE',
    alone: 'BEGIN ISOLATION LEVEL SERIALIZABLE; LOCK TABLE "_prisma_migrations" IN EXCLUSIVE MODE',
  },
} as const;

const oids = { bool: 16, int8: 20, numeric: 1700 } as const;

/** Numbers come as numbers and truth values as 0 and 1, as the other database gives them. */
function parserOf(oid: number, format?: 'text' | 'binary'): (text: string) => unknown {
  if (oid === oids.int8 || oid === oids.numeric) return Number;
  if (oid === oids.bool) return (text) => (text === 't' ? 1 : 0);
  return pg.types.getTypeParser(oid, format as 'text');
}

function poolOf(place: Place, max = mostConnections): pg.Pool {
  return makePool(place.url, {
    max,
    types: { getTypeParser: parserOf } as pg.CustomTypesConfig,
  });
}

/**
 * Opens a database of a PostgreSQL server and applies the migrations it lacks.
 *
 * @throws Refusal `storage-unreachable`, `newer-database`, and others of `storageRefusal`, naming the database
 */
export async function openPostgresql(place: Place): Promise<Store> {
  const pool = poolOf(place);
  try {
    const client = await pool.connect();
    try {
      await applyMigrations(client, withoutPassword(place.url));
      await makeQueues(client, place.url);
    } finally {
      client.release();
    }
    return storeOver(pool, place);
  } catch (error) {
    await pool.end();
    const refusal = error instanceof Refusal ? null : storageRefusal(error);
    throw refusal === null
      ? error
      : new Refusal(refusal.code, `${withoutPassword(place.url)}: ${refusal.message}`);
  }
}

/** A further store over a database that is up to date. */
export function postgresqlStore(place: Place): Store {
  return storeOver(poolOf(place), place);
}

/** What a transaction has come to: whether it may still be used, and the first thing that the server said against it. */
interface Running {
  readonly client: pg.PoolClient;
  ended: boolean;
  failure: unknown;
}

/** A pause before the next attempt, longer each time and never the same for two that met. */
function pause(attempt: number): Promise<void> {
  const longest = Math.min(longestWaitMs, firstWaitMs * 2 ** attempt);
  return delay(longest * (0.5 + 0.5 * Math.random()));
}

/**
 * A store over a pool of connections. Reads see what is committed. Transactions are serialisable: they happen as if one
 * after another, and one that another came in the way of runs again.
 */
function storeOver(pool: pg.Pool, place: Place): Store {
  const inside = new AsyncLocalStorage<true>();
  const turns = new Turns();
  // Whoever has its turn waits for no connection: all others wait for it.
  let ofTheTurn: pg.Pool | null = null;

  /** What is outside a transaction would not see its changes. */
  function refuseInside(): void {
    if (inside.getStore()) throw new Error('The store was used inside its own transaction.');
  }

  async function transaction<T>(
    work: (tx: Store) => Promise<T>,
    isolation: Isolation = 'serializable',
  ): Promise<T> {
    refuseInside();
    const until = performance.now() + givesUpAfterMs;
    let outcome: Outcome<T> | null = null;
    for (let attempt = 0; attempt < freeAttempts; attempt++) {
      outcome = await attemptOnce(pool, work, isolation, 'beside');
      if ('result' in outcome) return outcome.result;
      // Another one may have stored the same name after this one had looked for it: looking again finds it.
      const twin = attempt === 0 && codeOf(outcome.error) === uniqueViolation;
      if (!(outcome.again || twin)) throw outcome.error;
      await pause(attempt);
    }
    // Of a process one at a time.
    const leave = await turns.take();
    try {
      for (let attempt = freeAttempts; performance.now() < until; attempt++) {
        const beside = attempt < freeAttempts + attemptsInTurn;
        outcome = await attemptOnce(connectionOfTheTurn(), work, isolation, beside ? 'in turn' : 'alone');
        if ('result' in outcome) return outcome.result;
        if (!outcome.again) throw outcome.error;
        await pause(attempt);
      }
    } finally {
      leave();
    }
    throw outcome?.error;
  }

  function connectionOfTheTurn(): pg.Pool {
    ofTheTurn ??= poolOf(place, 1);
    return ofTheTurn;
  }

  type Outcome<T> = { readonly result: T } | { readonly error: unknown; readonly again: boolean };

  async function attemptOnce<T>(
    from: pg.Pool,
    work: (tx: Store) => Promise<T>,
    isolation: Isolation,
    how: 'beside' | 'in turn' | 'alone',
  ): Promise<Outcome<T>> {
    const locked = how !== 'beside';
    const client = await from.connect();
    const running: Running = { client, ended: false, failure: undefined };
    let lost: Error | undefined;
    const onError = (error: Error) => {
      lost = error;
    };
    client.on('error', onError);
    let committing = false;
    try {
      // Before it begins, so that it sees what those before it have stored.
      if (locked) await client.query('SELECT pg_advisory_lock($1)', [turnLock]);
      await client.query(beginnings[isolation][how === 'alone' ? 'alone' : 'beside']);
      const result = await inside.run(true, async () => work(transactionStore(running)));
      if (lost !== undefined) throw lost;
      committing = true;
      const { command } = await client.query('COMMIT');
      // If a statement failed and the failure was ignored, the server rolls back and reports it only here.
      if (command !== 'COMMIT') throw running.failure ?? new Error('The transaction was undone.');
      return { result };
    } catch (error) {
      const cause = running.failure ?? error;
      const disconnected = lost !== undefined || isDisconnection(error) || isDisconnection(cause);
      if (disconnected) {
        lost ??= error instanceof Error ? error : new Error(String(error));
        // Nobody knows whether a commit that was on its way arrived; one that could not be sent did not.
        return { error: committing ? error : cause, again: !committing || isUnsent(error) };
      }
      await client.query('ROLLBACK').catch((failed: Error) => {
        lost = failed;
      });
      return { error, again: isGivenUp(cause) || isGivenUp(error) };
    } finally {
      running.ended = true;
      // A connection that is gone holds no lock.
      if (locked && lost === undefined)
        await client.query('SELECT pg_advisory_unlock($1)', [turnLock]).catch((failed: Error) => {
          lost = failed;
        });
      client.off('error', onError);
      client.release(lost);
    }
  }

  function transactionStore(running: Running): Store {
    const nested = new Turns();
    const statements = new Turns();
    // One after another: a connection takes no second statement while it works on the first.
    const run = async (sql: string, parameters: readonly unknown[] = []): Promise<pg.QueryResult> => {
      if (running.ended) throw new Error('The transaction has ended: a statement of it was not awaited.');
      const leave = await statements.take();
      try {
        return await running.client.query(sql, parameters as unknown[]);
      } catch (error) {
        running.failure ??= error;
        throw error;
      } finally {
        leave();
      }
    };
    return {
      place,
      db: queriesOver('postgresql', async ({ sql, parameters }) => resultOf(await run(sql, parameters))),
      // A part of a transaction: when it throws, what it did is undone and the rest may go on.
      transaction: async (work) => {
        const leave = await nested.take();
        try {
          await run('SAVEPOINT part');
          try {
            const result = await work(transactionStore(running));
            await run('RELEASE SAVEPOINT part');
            return result;
          } catch (error) {
            const failure = running.failure;
            // Given up by the server: going back a part of the way does not help.
            if (isGivenUp(failure) || isDisconnection(failure)) throw error;
            running.failure = undefined;
            await run('ROLLBACK TO SAVEPOINT part');
            await run('RELEASE SAVEPOINT part');
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

  /** A read alone sees one moment; what changes something is a transaction of its own. */
  async function alone(query: CompiledQuery): Promise<QueryResult<unknown>> {
    refuseInside();
    if (!isRead(query)) return transaction(async (tx) => tx.db.executeQuery(query));
    const until = performance.now() + givesUpAfterMs;
    for (let attempt = 0; ; attempt++) {
      try {
        const { sql: text, parameters } = query;
        return resultOf(
          await pool.query({ text, values: parameters as unknown[], name: nameOfPrepared(text) }),
        );
      } catch (error) {
        // A connection that ended while it lay idle is found out by the first who uses it.
        if (!isDisconnection(error) || attempt >= mostConnections || performance.now() > until) throw error;
      }
    }
  }

  return {
    place,
    db: queriesOver('postgresql', alone),
    transaction,
    beneath: null,
    close: async () => {
      await Promise.all([pool.end(), ofTheTurn?.end()]);
    },
  };
}

function isRead({ query, sql }: CompiledQuery): boolean {
  return SelectQueryNode.is(query) || /^\s*(select|show)\b/i.test(sql);
}

function resultOf({ rows, command, rowCount }: pg.QueryResult): QueryResult<unknown> {
  return command === 'SELECT' ? { rows } : { rows, numAffectedRows: BigInt(rowCount ?? 0) };
}
