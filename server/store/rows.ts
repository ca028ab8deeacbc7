import type { UpdateObject } from 'kysely';
import type { DB } from './client/types.ts';
import type { Store } from './store.ts';

/** Tables of things that people change: each change counts the version up. */
export type VersionedTable = 'Cell' | 'CellType' | 'Lot' | 'Stack' | 'Test';

/**
 * Changes a row and counts its version up, where it still has the version that was read; inside a transaction with its
 * audit entry. What is undefined is left as it is.
 *
 * @returns whether it had
 */
export async function changeRow<Table extends VersionedTable>(
  store: Store,
  table: Table,
  row: {
    readonly id: number;
    readonly version: number;
    readonly fields: UpdateObject<Pick<DB, Table>, Table, Table>;
  },
): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable(table as VersionedTable)
    .set({ ...row.fields, version: row.version + 1 })
    .where('id', '=', row.id)
    .where('version', '=', row.version)
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}
