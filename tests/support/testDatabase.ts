import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import pg from 'pg';
import type { DatabasePlace } from '../../server/store/store.ts';

/** Whether these tests are to run on a PostgreSQL server; else each has an SQLite file. */
export const onPostgresql = process.env.GEMEL_TEST_ON === 'postgresql';

/** The database that every database of a test begins as: with all migrations. */
export const templateName = 'gemel_template';

/** An empty database of one test. */
export interface TestDatabase {
  readonly place: DatabasePlace;
  /** The settings that name it. */
  readonly variables: Readonly<Record<string, string>>;
  remove(): Promise<void>;
}

/** Runs one statement on the server of the tests, outside of all their databases. */
export async function onServer(statement: string): Promise<void> {
  const client = new pg.Client({ connectionString: urlOf('postgres') });
  await client.connect();
  try {
    await client.query(statement);
  } finally {
    await client.end();
  }
}

/** The address of a database of the server of the tests. */
export function urlOf(database: string): string {
  const cluster = process.env.GEMEL_TEST_CLUSTER;
  if (cluster === undefined) throw new Error('No PostgreSQL server was started for the tests.');
  return `${cluster}/${database}`;
}

/** Makes an empty database of the kind that these tests run on. @param folder where an SQLite file is to be */
export async function makeTestDatabase(folder: string): Promise<TestDatabase> {
  if (!onPostgresql) {
    return {
      place: { kind: 'sqlite', file: join(folder, 'gemel.sqlite') },
      variables: {},
      remove: async () => {},
    };
  }
  const name = `t${randomUUID().replaceAll('-', '')}`;
  await onServer(`CREATE DATABASE ${name} TEMPLATE ${templateName}`);
  return {
    place: { kind: 'postgresql', url: urlOf(name), folder },
    variables: { GEMEL_DATABASE: urlOf(name) },
    remove: async () => onServer(`DROP DATABASE ${name} WITH (FORCE)`),
  };
}
