import type { TestKind } from '../contract/tests.ts';
import { inOrder } from '../inOrder.ts';
import { readColumn } from './chunks/recordReader.ts';
import { ChunkQueue, RecordWriter } from './chunks/recordWriter.ts';
import { blockOfValues } from './chunks/rowBlock.ts';
import { readColumns, type StoredColumn } from './records.ts';
import type { Store } from './store.ts';
import { recountTests } from './testCounts.ts';

/** A chunk of this length is long enough to stay as it is. */
const mergedRows = 4096;
/** More short chunks than the end of a record ever has: each is longer than the next. */
const mostShortChunks = 64;

/** The record of an open or lately closed test. */
export interface LiveRecord {
  readonly recordId: number;
  readonly testId: number;
  readonly state: 'open' | 'sealed';
  readonly rowCount: number;
  readonly columns: readonly StoredColumn[];
  readonly lotId: number;
}

export async function findLiveRecord(store: Store, testId: number): Promise<LiveRecord | null> {
  const row = await store.db
    .selectFrom('Record as r')
    .innerJoin('Test as x', 'x.id', 'r.testId')
    .innerJoin('Cell as c', 'c.id', 'x.cellId')
    .select(['r.id as recordId', 'r.state', 'r.rowCount', 'r.columnsJson', 'c.lotId'])
    .where('r.testId', '=', testId)
    .where('r.state', 'in', ['open', 'sealed'])
    .where('x.state', 'in', ['open', 'sealed'])
    .$narrowType<{ state: 'open' | 'sealed' }>()
    .executeTakeFirst();
  if (row === undefined) return null;
  const { columnsJson, ...rest } = row;
  return { ...rest, testId, columns: readColumns(columnsJson, rest.recordId) };
}

/** Makes an open test with an empty record; inside a transaction. */
export async function insertLiveTest(
  store: Store,
  test: { cellId: number; kind: TestKind; label: string; temperatureC: number | null; at: string },
  columns: readonly StoredColumn[],
): Promise<number> {
  const { cellId, kind, label, temperatureC, at } = test;
  const { id: testId } = await store.db
    .insertInto('Test')
    .values({ cellId, kind, state: 'open', label, temperatureC, startedAt: at, createdAt: at })
    .returning('id')
    .executeTakeFirstOrThrow();
  await store.db
    .insertInto('Record')
    .values({ testId, state: 'open', columnsJson: JSON.stringify(columns), createdAt: at })
    .execute();
  return testId;
}

/** First and last time of a record, null where it is empty; its times never run backwards. */
export async function readTimeSpan(
  store: Store,
  recordId: number,
): Promise<{ firstS: number; lastS: number } | null> {
  const times = store.db.selectFrom('RecordChunk').where('recordId', '=', recordId).where('column', '=', 0);
  const first = await times.select('min').orderBy('firstRow').limit(1).executeTakeFirst();
  const last = await times.select('max').orderBy('firstRow', 'desc').limit(1).executeTakeFirst();
  if (first === undefined || last === undefined || first.min === null || last.max === null) return null;
  return { firstS: first.min, lastS: last.max };
}

/** Whether a batch with this key was stored. */
export async function hasLiveBatch(store: Store, testId: number, key: string): Promise<boolean> {
  const row = await store.db
    .selectFrom('LiveBatch')
    .select('key')
    .where('testId', '=', testId)
    .where('key', '=', key)
    .executeTakeFirst();
  return row !== undefined;
}

/** Makes the record this transaction's: of two that reach for it, the later one waits and then runs again. */
export async function claimRecord(store: Store, { recordId }: LiveRecord): Promise<void> {
  await store.db
    .updateTable('Record')
    .set(({ ref }) => ({ rowCount: ref('rowCount') }))
    .where('id', '=', recordId)
    .execute();
}

/**
 * Appends samples to an open record and remembers their batch; inside a transaction.
 *
 * @param firstS time of the record's first sample, also where this batch brings it
 */
export async function appendSamples(
  store: Store,
  record: LiveRecord,
  columns: readonly Float64Array[],
  batch: { key: string; at: string; firstS: number },
): Promise<void> {
  const { recordId, rowCount } = record;
  const added = columns[0].length;
  // Chunks that are no longer than what follows them: each row is packed again only as often as its chunk doubles.
  let length = added;
  const from = await findTail(store, record, (rows) => {
    const joins = rows <= length;
    length += joins ? rows : 0;
    return joins;
  });
  await packFrom(store, record, from, columns);
  await store.db
    .updateTable('Record')
    .set({ rowCount: rowCount + added, durationS: columns[0][added - 1] - batch.firstS })
    .where('id', '=', recordId)
    .where('state', '=', 'open')
    .execute();
  const { key, at } = batch;
  await store.db
    .insertInto('LiveBatch')
    .values({ testId: record.testId, key, firstRow: rowCount, rowCount: added, receivedAt: at })
    .execute();
}

/** The first row of the short chunks at the end of a record that are to be packed again, back to the first that is not. */
async function findTail(
  store: Store,
  { recordId, rowCount }: LiveRecord,
  joins: (rows: number) => boolean,
): Promise<number> {
  const last = await store.db
    .selectFrom('RecordChunk')
    .select(['firstRow', 'rowCount'])
    .where('recordId', '=', recordId)
    .where('column', '=', 0)
    .orderBy('firstRow', 'desc')
    .limit(mostShortChunks)
    .execute();
  let from = rowCount;
  for (const chunk of last) {
    if (chunk.rowCount >= mergedRows || !joins(chunk.rowCount)) break;
    from = chunk.firstRow;
  }
  return from;
}

/** Packs the rows of a record from a chunk's first row on again, together with those that are added. */
async function packFrom(
  store: Store,
  { recordId, rowCount }: LiveRecord,
  from: number,
  added: readonly Float64Array[],
): Promise<void> {
  let values = added;
  if (from < rowCount) {
    values = await inOrder(added, async (column, k) => {
      const before = await readColumn(store, recordId, k, { start: from, end: rowCount });
      const joined = new Float64Array(before.length + column.length);
      joined.set(before);
      joined.set(column, before.length);
      return joined;
    });
    await store.db
      .deleteFrom('RecordChunk')
      .where('recordId', '=', recordId)
      .where('firstRow', '>=', from)
      .execute();
  }
  const queue = new ChunkQueue();
  const writer = new RecordWriter(queue, { id: recordId }, added.length, from);
  writer.rows(blockOfValues(values), 0, values[0].length);
  writer.closeChunk();
  await queue.flush(store);
}

/** Closes an open test, whose last chunks are packed as those of a file; false where it is closed already. */
export async function sealLiveTest(store: Store, record: LiveRecord): Promise<boolean> {
  if (record.state === 'open') {
    const from = await findTail(store, record, () => true);
    if (from < record.rowCount)
      await packFrom(
        store,
        record,
        from,
        record.columns.map(() => new Float64Array(0)),
      );
  }
  const { numUpdatedRows } = await store.db
    .updateTable('Record')
    .set({ state: 'sealed' })
    .where('id', '=', record.recordId)
    .where('state', '=', 'open')
    .executeTakeFirstOrThrow();
  const sealed = await store.db
    .updateTable('Test')
    .set({ state: 'sealed' })
    .where('id', '=', record.testId)
    .where('state', '=', 'open')
    .returning('cellId')
    .execute();
  await recountTests(
    store,
    sealed.map(({ cellId }) => cellId),
  );
  return numUpdatedRows === 1n;
}
