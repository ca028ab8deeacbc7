import { sql } from 'kysely';
import type { Store } from './store.ts';

/** How often something is read, where it is changed meanwhile. */
const ATTEMPTS = 5;

/**
 * Reads several things as they were at one moment, so that no answer is made of the states before and after a change. On a
 * PostgreSQL server it is a transaction that sees one moment; in an SQLite file, where such a transaction would keep others
 * waiting, it is read again while changes fall between.
 *
 * @param attempts in an SQLite file, the most readings; of the last one parts may be of two moments
 */
export async function atOneMoment<T>(
  store: Store,
  read: (at: Store) => Promise<T>,
  attempts = ATTEMPTS,
): Promise<T> {
  if (store.place.kind === 'postgresql') return store.transaction(read, 'snapshot');
  for (let attempt = 1; ; attempt++) {
    const before = await changesSeen(store);
    const found = await read(store);
    if (attempt >= attempts || (await changesSeen(store)) === before) return found;
  }
}

/** A number that differs after every change that another connection has made. */
async function changesSeen(store: Store): Promise<number> {
  const { rows } = await sql<{ data_version: number }>`PRAGMA data_version`.execute(store.db);
  return rows[0].data_version;
}
