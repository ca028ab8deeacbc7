import type { Queries } from './queries.ts';
import { openSqlite, sqliteStore } from './sqlite.ts';

/** Where a database is: a file of this machine, or a PostgreSQL server. It can be handed to a worker thread. */
export type DatabasePlace =
  | { readonly kind: 'sqlite'; readonly file: string }
  | {
      readonly kind: 'postgresql';
      /** What it does not say is read from the usual PG* variables. */
      readonly url: string;
      /** Folder of what is kept in files: uploads that wait for their job. */
      readonly folder: string;
    };

/**
 * How far a transaction is kept from others on a PostgreSQL server. `serializable`: as if all ran one after another.
 * `snapshot`: it sees one moment, and runs again where a row that it changes was changed since; what it only read may
 * have changed. Many that touch rows of their own then run side by side, where the other way takes neighbours in an
 * index for conflicts. In an SQLite file they run one after another either way.
 */
export type Isolation = 'serializable' | 'snapshot';

/**
 * The only door to the database. Everything is asynchronous, so that nobody waits for another's work. What must happen
 * together (what a change depends on, the change, its audit entry) is one transaction.
 */
export interface Store {
  readonly place: DatabasePlace;
  /** Queries whose types follow from the schema. */
  readonly db: Queries;
  /**
   * Runs `work` as one transaction: all of it happens or, when it throws, nothing. What belongs to it goes through the
   * store that `work` is given, and nothing of anyone else can come between. Inside another transaction it is a part of
   * that one, and undone alone when it throws. Where the database asks for it, `work` runs again from its beginning; so
   * it may do nothing outside the database that may not be done twice.
   *
   * @param isolation `snapshot` where the work depends only on rows that it changes itself; else leave it out
   */
  transaction<T>(work: (tx: Store) => Promise<T>, isolation?: Isolation): Promise<T>;
  /**
   * A transaction that also sees the files that are being stored in pieces, whose rows nobody else sees. Null where there
   * is no need of pieces, because a long transaction keeps nobody waiting, and inside a transaction.
   */
  readonly beneath: (<T>(work: (tx: Store) => Promise<T>) => Promise<T>) | null;
  close(): Promise<void>;
}

/**
 * Opens a database, making an SQLite file and its folder where they are missing, and applies the migrations it lacks.
 *
 * @param place where it is; a text alone is the path of an SQLite file
 * @throws Refusal naming the file or server: `storage-read-only`, `storage-damaged`, `storage-busy`, `storage-full`,
 *   `storage-unreachable`, `newer-database`
 */
export async function openStore(place: DatabasePlace | string): Promise<Store> {
  if (typeof place === 'string') return openSqlite(place);
  if (place.kind === 'sqlite') return openSqlite(place.file);
  const { openPostgresql } = await import('./postgresql.ts');
  return openPostgresql(place);
}

/** Opens a further store over a database that exists and is up to date, for a worker thread. */
export async function openFurtherStore(place: DatabasePlace): Promise<Store> {
  if (place.kind === 'sqlite') return sqliteStore(place.file);
  const { postgresqlStore } = await import('./postgresql.ts');
  return postgresqlStore(place);
}
