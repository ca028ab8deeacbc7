import { CompiledQuery, type Insertable } from 'kysely';
import type { DB } from './client/types.ts';
import type { Store } from './store.ts';

/** Values handed over with one statement: below the number of parameters that either database takes. */
const valuesAtATime = 8000;

const compiled = new Map<string, string>();

/** The statement for so many rows, written once: the builder's own work would outweigh the database's. */
function statementFor<Table extends keyof DB>(
  store: Store,
  table: Table,
  columns: readonly string[],
  rowCount: number,
): string {
  const key = `${store.place.kind} ${table} ${columns.join()} ${rowCount}`;
  const known = compiled.get(key);
  if (known !== undefined) return known;
  const row = Object.fromEntries(columns.map((column) => [column, null]));
  const rows = Array.from({ length: rowCount }, () => row);
  const { sql } = store.db
    .insertInto(table)
    .values(rows as Insertable<DB[Table]>[])
    .compile();
  compiled.set(key, sql);
  return sql;
}

/**
 * Stores many rows of a table that all state the same columns; to be called inside a transaction with what belongs to
 * them.
 */
export async function insertRows<Table extends keyof DB>(
  store: Store,
  table: Table,
  columns: readonly (keyof Insertable<DB[Table]> & string)[],
  rows: readonly Readonly<Insertable<DB[Table]>>[],
): Promise<void> {
  const whole = 2 ** Math.floor(Math.log2(valuesAtATime / columns.length));
  for (let at = 0; at < rows.length; ) {
    // Powers of two, so that few statements serve all numbers of rows.
    const count = Math.min(whole, 2 ** Math.floor(Math.log2(rows.length - at)));
    const values = rows.slice(at, at + count).flatMap((row) => columns.map((column) => row[column]));
    await store.db.executeQuery(CompiledQuery.raw(statementFor(store, table, columns, count), values));
    at += count;
  }
}
