import { insertRows } from '../insertRows.ts';
import type { Store } from '../store.ts';
import type { PackedChunk } from './packChunks.ts';

/** A chunk of this length is long enough to stay as it is. */
export const mergedRows = 4096;
/** More short chunks than the end of a record ever has: each is longer than the next. */
const mostShortChunks = 64;

/** The short chunks at the end of a growing record, in their order, and its last time; null where it is empty. */
export async function findShortChunks(
  store: Store,
  recordId: number,
): Promise<{ short: { firstRow: number; rowCount: number }[]; lastS: number } | null> {
  const last = await store.db
    .selectFrom('RecordChunk')
    .select(['firstRow', 'rowCount', 'max'])
    .where('recordId', '=', recordId)
    .where('column', '=', 0)
    .orderBy('firstRow', 'desc')
    .limit(mostShortChunks)
    .execute();
  if (last.length === 0) return null;
  const long = last.findIndex(({ rowCount }) => rowCount >= mergedRows);
  return { short: (long < 0 ? last : last.slice(0, long)).reverse(), lastS: last[0].max };
}

/** Stores packed chunks of records; inside a transaction with what belongs to them. */
export async function insertChunks(
  store: Store,
  chunks: readonly { readonly recordId: number; readonly chunk: PackedChunk }[],
): Promise<void> {
  await insertRows(
    store,
    'RecordChunk',
    ['recordId', 'column', 'firstRow', 'rowCount', 'min', 'max', 'data'],
    chunks.flatMap(({ recordId, chunk }) =>
      chunk.columns.map((packed, column) => ({ recordId, column, firstRow: chunk.firstRow, ...packed })),
    ),
  );
}
