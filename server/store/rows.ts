import type { SqlStore, SqlValue } from './store.ts';

/** Fields of one row by column; one that is undefined is left out. */
type Fields<Column extends string> = { readonly [column in Column]?: SqlValue };

/** Stores a row of those columns and returns its identifier; inside a transaction with its audit entry. */
export async function insertRow<Column extends string>(
  store: SqlStore,
  table: string,
  columns: readonly Column[],
  fields: Fields<Column>,
): Promise<number> {
  const given = columns.filter((column) => fields[column] !== undefined);
  return (
    await store.run(
      `INSERT INTO ${table} (${given.join(', ')}) VALUES (${given.map(() => '?').join(', ')})`,
      ...given.map((column) => fields[column] as SqlValue),
    )
  ).id;
}

/**
 * Changes the given columns of a row and counts its version up, where it still has the version that was read; inside a
 * transaction with its audit entry.
 *
 * @returns whether it had
 */
export async function changeRow<Column extends string>(
  store: SqlStore,
  table: string,
  columns: readonly Column[],
  row: { readonly id: number; readonly version: number; readonly fields: Fields<Column> },
): Promise<boolean> {
  const given = columns.filter((column) => row.fields[column] !== undefined);
  const set = [...given.map((column) => `${column} = ?`), 'version = version + 1'].join(', ');
  return (
    (
      await store.run(
        `UPDATE ${table} SET ${set} WHERE id = ? AND version = ?`,
        ...given.map((column) => row.fields[column] as SqlValue),
        row.id,
        row.version,
      )
    ).changes === 1
  );
}
