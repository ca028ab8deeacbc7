import type { TestKind } from '../contract/tests.ts';
import { inOrder } from '../inOrder.ts';
import { packChunks } from './chunks/packChunks.ts';
import { readColumn } from './chunks/recordReader.ts';
import { findShortChunks, insertChunks } from './chunks/shortChunks.ts';
import { readColumns, type StoredColumn } from './records.ts';
import type { Store } from './store.ts';
import { recountTests } from './testCounts.ts';

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

/** Packs the short chunks at the end of a record as those of a file. */
async function packEnd(store: Store, { recordId, rowCount, columns }: LiveRecord): Promise<void> {
  const short = (await findShortChunks(store, recordId))?.short ?? [];
  if (short.length < 2) return;
  const from = short[0].firstRow;
  const values = await inOrder(columns, (_, k) =>
    readColumn(store, recordId, k, { start: from, end: rowCount }),
  );
  await store.db
    .deleteFrom('RecordChunk')
    .where('recordId', '=', recordId)
    .where('firstRow', '>=', from)
    .execute();
  await insertChunks(
    store,
    packChunks(values, from).map((chunk) => ({ recordId, chunk })),
  );
}

/** Closes an open test, whose last chunks are packed as those of a file; false where it is closed already. */
export async function sealLiveTest(store: Store, record: LiveRecord): Promise<boolean> {
  if (record.state === 'open') await packEnd(store, record);
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

/**
 * Lets identifiers of batches of a test go, of those whose rows all are before a row; inside a transaction.
 *
 * @returns whether there may be more
 */
export async function forgetBatches(
  tx: Store,
  testId: number,
  beforeRow: number,
  atMost: number,
): Promise<boolean> {
  const { numDeletedRows } = await tx.db
    .deleteFrom('LiveBatch')
    .where('testId', '=', testId)
    .where('key', 'in', ({ selectFrom, eb }) =>
      selectFrom('LiveBatch')
        .select('key')
        .where('testId', '=', testId)
        .where(eb('firstRow', '+', eb.ref('rowCount')), '<=', beforeRow)
        .limit(atMost),
    )
    .executeTakeFirstOrThrow();
  return numDeletedRows === BigInt(atMost);
}
