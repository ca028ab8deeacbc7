import type { Store } from './store.ts';

/** Rows of one lot's changes on a PostgreSQL server, beyond which they are made one. */
const mostRows = 500;

/**
 * A number that differs after every change of what the statistics of a lot are made of: values that are imported, evaluated, entered, left out
 * or undone, cells, limits. The triggers of the database count, for all services alike. Read it before the lot is:
 * what is read then is as new as the number, or newer.
 */
export async function readLotChanges(store: Store, lotId: number): Promise<number> {
  const { changes, rows } = await store.db
    .selectFrom('LotChange')
    .select(({ fn, val }) => [
      fn.coalesce(fn.sum<number>('changes'), val(0)).as('changes'),
      fn.countAll<number>().as('rows'),
    ])
    .where('lotId', '=', lotId)
    .executeTakeFirstOrThrow();
  if (rows > mostRows) await store.transaction(async (tx) => makeOneRow(tx, lotId), 'snapshot');
  return changes;
}

/** Puts one row in place of those that are there, with their sum, so that nobody's number changes. */
async function makeOneRow({ db }: Store, lotId: number): Promise<void> {
  const gone = await db.deleteFrom('LotChange').where('lotId', '=', lotId).returning('changes').execute();
  const changes = gone.reduce((sum, row) => sum + row.changes, 0);
  await db.insertInto('LotChange').values({ lotId, changes }).execute();
}
