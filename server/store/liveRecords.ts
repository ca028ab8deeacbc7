import type { TestKind } from '../contract/tests.ts';
import { inOrder } from '../inOrder.ts';
import { readColumn } from './chunks/recordReader.ts';
import { ChunkQueue, RecordWriter } from './chunks/recordWriter.ts';
import { blockOfValues } from './chunks/rowBlock.ts';
import { readColumns, type StoredColumn } from './records.ts';
import type { Store } from './store.ts';
import { recountTests } from './testCounts.ts';

/** A last chunk shorter than this is packed again together with the samples that follow it. */
const mergedRows = 4096;

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

/** First and last time of a record, null where it is empty. */
export async function readTimeSpan(
  store: Store,
  recordId: number,
): Promise<{ firstS: number; lastS: number } | null> {
  const row = await store.db
    .selectFrom('RecordChunk')
    .select(({ fn }) => [fn.min<number | null>('min').as('firstS'), fn.max<number | null>('max').as('lastS')])
    .where('recordId', '=', recordId)
    .where('column', '=', 0)
    .executeTakeFirst();
  if (row === undefined || row.firstS === null || row.lastS === null) return null;
  return { firstS: row.firstS, lastS: row.lastS };
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

/** Appends samples to an open record and remembers their batch; inside a transaction. */
export async function appendSamples(
  store: Store,
  record: LiveRecord,
  columns: readonly Float64Array[],
  batch: { key: string; at: string },
): Promise<void> {
  const { recordId, rowCount } = record;
  const added = columns[0].length;
  const tail = await store.db
    .selectFrom('RecordChunk')
    .select(['firstRow', 'rowCount'])
    .where('recordId', '=', recordId)
    .where('column', '=', 0)
    .orderBy('firstRow', 'desc')
    .executeTakeFirst();
  let firstRow = rowCount;
  let values = columns;
  if (tail !== undefined && tail.rowCount < mergedRows) {
    firstRow = tail.firstRow;
    values = await inOrder(columns, async (column, k) => {
      const before = await readColumn(store, recordId, k, { start: firstRow, end: rowCount });
      const joined = new Float64Array(before.length + added);
      joined.set(before);
      joined.set(column, before.length);
      return joined;
    });
    await store.db
      .deleteFrom('RecordChunk')
      .where('recordId', '=', recordId)
      .where('firstRow', '=', firstRow)
      .execute();
  }
  const queue = new ChunkQueue();
  const writer = new RecordWriter(queue, { id: recordId }, columns.length, firstRow);
  writer.rows(blockOfValues(values), 0, values[0].length);
  writer.closeChunk();
  await queue.flush(store);
  const span = await readTimeSpan(store, recordId);
  await store.db
    .updateTable('Record')
    .set({ rowCount: rowCount + added, durationS: span === null ? 0 : span.lastS - span.firstS })
    .where('id', '=', recordId)
    .where('state', '=', 'open')
    .execute();
  const { key, at } = batch;
  await store.db
    .insertInto('LiveBatch')
    .values({ testId: record.testId, key, firstRow: rowCount, rowCount: added, receivedAt: at })
    .execute();
}

/** Closes an open test; false where it is closed already. */
export async function sealLiveTest(store: Store, record: LiveRecord): Promise<boolean> {
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
