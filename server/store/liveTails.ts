import { inOrder } from '../inOrder.ts';
import { type PackedChunk, packChunks } from './chunks/packChunks.ts';
import { findShortChunks, insertChunks, mergedRows } from './chunks/shortChunks.ts';
import { DamagedChunk, unpackColumn } from './chunks/unpackColumn.ts';
import { numbersIn, runForRows } from './differences.ts';
import { insertRows } from './insertRows.ts';
import { readColumns, type StoredColumn } from './records.ts';
import type { Store } from './store.ts';

// Batches of many live records are stored with a few statements for all of them. What a batch needs of its record is
// kept between batches as a tail, which the database is asked about each time: another process may have gone on.

/** An open or closed live record as the database has it now. */
export interface LiveRecordNow {
  readonly recordId: number;
  readonly testId: number;
  readonly lotId: number;
  readonly rowCount: number;
  readonly state: 'open' | 'sealed';
}

/** What the next batch of a record is checked against and packed with. It is never changed, only followed by another. */
export interface LiveTail {
  readonly recordId: number;
  readonly columns: readonly StoredColumn[];
  readonly rowCount: number;
  /** First and last time, null where there are no rows. */
  readonly firstS: number | null;
  readonly lastS: number | null;
  /** The short chunks at the end, in their order; each is longer than those after it together. */
  readonly chunks: readonly TailChunk[];
}

interface TailChunk {
  readonly firstRow: number;
  readonly rowCount: number;
  readonly data: readonly Uint8Array[];
}

/** What one record gains. */
export interface LiveGrowth {
  readonly before: LiveTail;
  readonly after: LiveTail;
  /** First rows of the chunks that are packed again together with what follows them. */
  readonly replaced: readonly number[];
  readonly chunks: readonly PackedChunk[];
}

/** A batch that was stored. */
export interface LiveBatchRow {
  readonly testId: number;
  readonly key: string;
  readonly firstRow: number;
  readonly rowCount: number;
  readonly receivedAt: string;
}

/** The live records of tests, by test; those that are none have no entry. */
export async function findLiveRecordsOf(
  store: Store,
  testIds: readonly number[],
): Promise<Map<number, LiveRecordNow>> {
  const { rows } = await runForRows<LiveRecordNow>(
    store,
    ['int8'],
    [...new Set(testIds)].map((id) => [id]),
    (tests) =>
      `SELECT r."id" AS "recordId", r."testId", c."lotId", r."rowCount", r."state"
       FROM ${tests} JOIN "Test" x ON x."id" = v.a JOIN "Cell" c ON c."id" = x."cellId"
       JOIN "Record" r ON r."testId" = x."id"
       WHERE r."state" IN ('open', 'sealed') AND x."state" IN ('open', 'sealed')`,
  );
  return new Map(rows.map((row) => [row.testId, row]));
}

/** Those of some batches that were stored before, as `keyOf` writes them. */
export async function findStoredKeys(
  store: Store,
  batches: readonly { testId: number; key: string }[],
): Promise<Set<string>> {
  const { rows } = await runForRows<{ testId: number; key: string }>(
    store,
    ['int8', 'text'],
    batches.map(({ testId, key }) => [testId, key]),
    (keys) =>
      `SELECT b."testId", b."key" FROM ${keys} JOIN "LiveBatch" b ON b."testId" = v.a AND b."key" = v.b`,
  );
  return new Set(rows.map(({ testId, key }) => keyOf(testId, key)));
}

/** One text for the key of a batch of a test. */
export function keyOf(testId: number, key: string): string {
  return `${testId} ${key}`;
}

/** Reads the tails of records; inside the transaction that says how long they are. */
export async function readTails(
  store: Store,
  records: readonly LiveRecordNow[],
): Promise<Map<number, LiveTail>> {
  if (records.length === 0) return new Map();
  const rows = await store.db
    .selectFrom('Record')
    .select(['id', 'columnsJson'])
    .where('id', 'in', numbersIn(records.map(({ recordId }) => recordId)))
    .execute();
  const columnsOf = new Map(rows.map(({ id, columnsJson }) => [id, readColumns(columnsJson, id)]));
  const tails = await inOrder(records, async ({ recordId, rowCount }): Promise<LiveTail> => {
    const columns = columnsOf.get(recordId);
    if (columns === undefined) throw new Error(`The record ${recordId} is gone.`);
    if (rowCount === 0) return { recordId, columns, rowCount, firstS: null, lastS: null, chunks: [] };
    return { recordId, columns, rowCount, ...(await readEnd(store, recordId, columns.length)) };
  });
  return new Map(tails.map((tail) => [tail.recordId, tail]));
}

async function readEnd(
  store: Store,
  recordId: number,
  columnCount: number,
): Promise<Pick<LiveTail, 'firstS' | 'lastS' | 'chunks'>> {
  const end = await findShortChunks(store, recordId);
  if (end === null) throw new DamagedChunk(`record ${recordId} has no chunks`);
  const first = await store.db
    .selectFrom('RecordChunk')
    .select('min')
    .where('recordId', '=', recordId)
    .where('column', '=', 0)
    .orderBy('firstRow')
    .limit(1)
    .executeTakeFirstOrThrow();
  const { short, lastS } = end;
  const packed =
    short.length === 0
      ? []
      : await store.db
          .selectFrom('RecordChunk')
          .select(['column', 'firstRow', 'data'])
          .where('recordId', '=', recordId)
          .where('firstRow', '>=', short[0].firstRow)
          .execute();
  const dataAt = new Map(packed.map(({ column, firstRow, data }) => [`${column} ${firstRow}`, data]));
  const chunks = short.map(({ firstRow, rowCount }): TailChunk => {
    const data = Array.from({ length: columnCount }, (_, column) => {
      const found = dataAt.get(`${column} ${firstRow}`);
      if (found === undefined)
        throw new DamagedChunk(`record ${recordId} lacks column ${column} at row ${firstRow}`);
      return found;
    });
    return { firstRow, rowCount, data };
  });
  return { firstS: first.min, lastS, chunks };
}

/**
 * Packs rows behind a record's tail. Chunks that are no longer than what follows them are packed again with it, so each
 * row is packed only as often as its chunk doubles.
 *
 * @param added one list a column, the time first; at least one row
 */
export function growTail(before: LiveTail, added: readonly Float64Array[]): LiveGrowth {
  const count = added[0].length;
  let kept = before.chunks.length;
  let length = count;
  while (kept > 0 && before.chunks[kept - 1].rowCount <= length) length += before.chunks[--kept].rowCount;
  const joined = before.chunks.slice(kept);
  const values = joined.length === 0 ? added : added.map((column, k) => join(joined, k, column, length));
  const chunks = packChunks(values, before.rowCount + count - length);
  const timeS = added[0];
  const short = [
    ...before.chunks.slice(0, kept),
    ...chunks.map(({ firstRow, rowCount, columns }) => ({
      firstRow,
      rowCount,
      data: columns.map(({ data }) => data),
    })),
  ];
  // Rows before a long chunk stay as they are.
  const long = short.findLastIndex(({ rowCount }) => rowCount >= mergedRows);
  return {
    before,
    after: {
      ...before,
      rowCount: before.rowCount + count,
      firstS: before.firstS ?? timeS[0],
      lastS: timeS[count - 1],
      chunks: short.slice(long + 1),
    },
    replaced: joined.map(({ firstRow }) => firstRow),
    chunks,
  };
}

/** Two growths of a record one after the other as one: chunks of the first that the second packs again never come to be. */
export function mergeGrowths(first: LiveGrowth, second: LiveGrowth): LiveGrowth {
  const again = new Set(second.replaced);
  const made = new Set(first.chunks.map(({ firstRow }) => firstRow));
  return {
    before: first.before,
    after: second.after,
    replaced: [...first.replaced, ...second.replaced.filter((firstRow) => !made.has(firstRow))],
    chunks: [...first.chunks.filter(({ firstRow }) => !again.has(firstRow)), ...second.chunks],
  };
}

function join(
  chunks: readonly TailChunk[],
  column: number,
  added: Float64Array,
  length: number,
): Float64Array {
  const values = new Float64Array(length);
  let at = 0;
  for (const { data } of chunks) at += unpackColumn(data[column], values, at);
  values.set(added, at);
  return values;
}

/**
 * Stores what records gain, and the batches it came in; inside the transaction that found their tails up to date.
 *
 * @throws Error where a record is not as its tail says
 */
export async function storeGrowth(
  store: Store,
  growths: readonly LiveGrowth[],
  batches: readonly LiveBatchRow[],
): Promise<void> {
  const replaced = growths.flatMap(({ before, replaced }) =>
    replaced.flatMap((firstRow) => before.columns.map((_, column) => [before.recordId, column, firstRow])),
  );
  const removed = await runForRows(
    store,
    ['int8', 'int8', 'int8'],
    replaced,
    (keys) =>
      `DELETE FROM "RecordChunk" WHERE ("recordId", "column", "firstRow") IN (SELECT v.a, v.b, v.c FROM ${keys})`,
  );
  if (removed.changed !== replaced.length)
    throw new Error(`${replaced.length - removed.changed} chunks of live records are not where they were.`);
  await insertChunks(
    store,
    growths.flatMap(({ before: { recordId }, chunks }) => chunks.map((chunk) => ({ recordId, chunk }))),
  );
  const grown = await runForRows(
    store,
    ['int8', 'int8', 'int8', 'float8'],
    growths.map(({ before, after }) => [
      before.recordId,
      before.rowCount,
      after.rowCount,
      (after.lastS as number) - (after.firstS as number),
    ]),
    (rows) =>
      `UPDATE "Record" SET "rowCount" = v.c, "durationS" = v.d FROM ${rows}
       WHERE "Record"."id" = v.a AND "Record"."rowCount" = v.b AND "Record"."state" = 'open'`,
  );
  if (grown.changed !== growths.length)
    throw new Error(`${growths.length - grown.changed} live records are not as long as they were.`);
  await insertRows(store, 'LiveBatch', ['testId', 'key', 'firstRow', 'rowCount', 'receivedAt'], batches);
}
