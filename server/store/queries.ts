import { type CompiledQuery, type DatabaseConnection, Kysely, type QueryResult } from 'kysely';
import type { DB } from './client/types.ts';
import { type DatabaseKind, dialects } from './differences.ts';

/** Typed queries on the tables of prisma/schema.prisma. */
export type Queries = Kysely<DB>;

/** Runs one compiled query. */
export type Execute = (query: CompiledQuery) => Promise<QueryResult<unknown>>;

/** The names of statements that a server prepares once for each connection, by their text. */
const prepared = new Map<string, string>();

/** Lets a server keep a statement whose text never varies, so that it is not planned again each time it runs. */
export function prepareOnce({ sql }: CompiledQuery): void {
  if (!prepared.has(sql)) prepared.set(sql, `gemel_${prepared.size}`);
}

export function nameOfPrepared(sql: string): string | undefined {
  return prepared.get(sql);
}

/**
 * Queries that are handed to `execute` as the database's own text. Connections and transactions are the store's, so the
 * builder's own way to begin one is closed.
 */
export function queriesOver(kind: DatabaseKind, execute: Execute): Queries {
  const connection: DatabaseConnection = {
    executeQuery: <Row>(query: CompiledQuery) => execute(query) as Promise<QueryResult<Row>>,
    // biome-ignore lint/correctness/useYield: no query here is read as a stream
    streamQuery: async function* () {
      throw new Error('A query is not read as a stream here.');
    },
  };
  const noTransaction = async (): Promise<never> => {
    throw new Error('A transaction begins with store.transaction.');
  };
  return new Kysely<DB>({
    dialect: {
      ...dialects[kind],
      createDriver: () => ({
        init: async () => {},
        acquireConnection: async () => connection,
        beginTransaction: noTransaction,
        commitTransaction: noTransaction,
        rollbackTransaction: noTransaction,
        releaseConnection: async () => {},
        destroy: async () => {},
      }),
    },
  });
}
