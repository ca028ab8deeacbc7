import { sql } from 'kysely';
import { numbersIn } from './differences.ts';
import type { Store } from './store.ts';

/** Counts the sealed tests of some cells again; inside the transaction that adds, seals, undoes or restores tests of them. */
export async function recountTests(store: Store, cellIds: readonly number[]): Promise<void> {
  if (cellIds.length === 0) return;
  const sealed = sql`(select count(*) from "Test" x where x."cellId" = "Cell"."id" and x."state" = 'sealed')`;
  await sql`update "Cell" set "testCount" = ${sealed} where "id" in ${numbersIn(new Set(cellIds))}`.execute(
    store.db,
  );
}
