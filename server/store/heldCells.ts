import type { CellState } from '../contract/cells.ts';
import type { Store } from './store.ts';

/**
 * The states of the cells that are there, by their numbers. Until the transaction ends nobody else changes them or holds them so; where
 * somebody has since it began, it runs again. What else depends on these cells alone may then be a `snapshot`.
 */
export async function holdCells(store: Store, ids: readonly number[]): Promise<Map<number, CellState>> {
  // A lock alone would be granted on what was changed meanwhile; a change is refused. In an SQLite file nobody else is at work.
  if (store.place.kind === 'postgresql')
    await store.db
      .updateTable('Cell')
      .set(({ ref }) => ({ version: ref('version') }))
      .where('id', 'in', ids)
      .execute();
  const rows = await store.db.selectFrom('Cell').select(['id', 'state']).where('id', 'in', ids).execute();
  return new Map(rows.map(({ id, state }) => [id, state]));
}
