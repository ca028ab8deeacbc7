import { CompiledQuery } from 'kysely';
import type { Store } from '../../server/store/store.ts';

// Statements that a test states as text, for what no function of the store does. They are written for SQLite; for
// PostgreSQL the names are quoted and the parameters numbered.

type Value = string | number | bigint | Uint8Array | null;

/** Names of tables and columns: words with a capital letter that are no words of SQL, and those that are such words. */
function forPostgresql(text: string): string {
  let parameter = 0;
  return text
    .split(/('[^']*'|"[^"]*")/)
    .map((part, i) =>
      i % 2 === 1
        ? part
        : part.replace(/\b(?=\w*[A-Z])(?=\w*[a-z])\w+\b/g, '"$&"').replace(/\?/g, () => `$${++parameter}`),
    )
    .join('');
}

function query<Row>(store: Store, text: string, values: readonly Value[]) {
  const own = store.place.kind === 'postgresql' ? forPostgresql(text) : text;
  return store.db.executeQuery<Row>(CompiledQuery.raw(own, [...values]));
}

/** All rows of a query. `Row` states what it selects. */
export async function selectAll<Row>(store: Store, text: string, ...values: Value[]): Promise<Row[]> {
  return (await query<Row>(store, text, values)).rows;
}

/** The first row of a query, or undefined. */
export async function selectOne<Row>(
  store: Store,
  text: string,
  ...values: Value[]
): Promise<Row | undefined> {
  return (await query<Row>(store, text, values)).rows[0];
}

/** Changes rows; returns how many, and the identifier of the one that an `INSERT` made. */
export async function runSql(
  store: Store,
  text: string,
  ...values: Value[]
): Promise<{ changes: number; id: number }> {
  const inserts = /^\s*INSERT INTO "?(\w+)/i.exec(text);
  const returning =
    inserts !== null && !/StackCell|RecordChunk|LiveBatch|SweepPoint/.test(inserts[1]) ? ' RETURNING id' : '';
  const result = await query<{ id: number }>(store, `${text}${returning}`, values);
  return { changes: Number(result.numAffectedRows ?? result.rows.length), id: result.rows[0]?.id ?? 0 };
}
