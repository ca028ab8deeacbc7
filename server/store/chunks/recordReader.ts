import type { Store } from '../store.ts';
import { DamagedChunk, unpackColumn } from './unpackColumn.ts';

interface ChunkRow {
  readonly firstRow: number;
  readonly rowCount: number;
  readonly data: Uint8Array;
}

/** Rows `start` (included) to `end` (excluded) of a record. */
export interface StoredRange {
  readonly start: number;
  readonly end: number;
}

/** Chunks read at a time: at most a few MiB, so that a record of any length is read in constant memory. */
const chunksAtATime = 16;

/** The chunks of a column that hold rows of a range, in their order, a few at a time. */
async function* chunksOf(
  store: Store,
  recordId: number,
  column: number,
  range: StoredRange,
): AsyncGenerator<ChunkRow> {
  for (let from = range.start; from < range.end; ) {
    const chunks = await store.db
      .selectFrom('RecordChunk')
      .select(['firstRow', 'rowCount', 'data'])
      .where('recordId', '=', recordId)
      .where('column', '=', column)
      .where('firstRow', '<', range.end)
      // The first one may begin before the range; where it ends, the next one begins.
      .where(({ eb }) =>
        from === range.start
          ? eb(eb('firstRow', '+', eb.ref('rowCount')), '>', from)
          : eb('firstRow', '>=', from),
      )
      .orderBy('firstRow')
      .limit(chunksAtATime)
      .execute();
    yield* chunks;
    if (chunks.length < chunksAtATime) return;
    const last = chunks[chunks.length - 1];
    from = last.firstRow + last.rowCount;
  }
}

/**
 * Reads one column of a stored record, bit for bit.
 *
 * @param column place of the column in the record's `columnsJson`
 * @param range the rows wanted; only the chunks that hold them are unpacked
 * @throws DamagedChunk where rows are missing or cannot be read
 */
export async function readColumn(
  store: Store,
  recordId: number,
  column: number,
  range: StoredRange,
): Promise<Float64Array> {
  const wanted = Math.max(0, range.end - range.start);
  const values = new Float64Array(wanted);
  let at = 0;
  for await (const chunk of chunksOf(store, recordId, column, range)) {
    const from = Math.max(0, range.start - chunk.firstRow);
    const to = Math.min(chunk.rowCount, range.end - chunk.firstRow);
    if (chunk.firstRow + from !== range.start + at) break;
    if (from === 0 && to === chunk.rowCount) {
      at += checkedUnpack(chunk, values, at);
    } else {
      const whole = new Float64Array(chunk.rowCount);
      checkedUnpack(chunk, whole, 0);
      values.set(whole.subarray(from, to), at);
      at += to - from;
    }
  }
  if (at !== wanted) throw new DamagedChunk(`record ${recordId} lacks rows from ${range.start + at} on`);
  return values;
}

function checkedUnpack(chunk: ChunkRow, into: Float64Array, at: number): number {
  const rows = unpackColumn(chunk.data, into, at);
  if (rows !== chunk.rowCount)
    throw new DamagedChunk(`it has ${rows} rows where ${chunk.rowCount} were stored`);
  return rows;
}

/**
 * The rows of a record between two times, found from the least and greatest time of each chunk and then row by row.
 * One row more is given on either side where there is one, so that a line drawn through them reaches the edges.
 */
export async function findRows(
  store: Store,
  recordId: number,
  timeColumn: number,
  fromS: number,
  toS: number,
): Promise<StoredRange> {
  const chunks = await store.db
    .selectFrom('RecordChunk')
    .select(['firstRow', 'rowCount', 'min', 'max'])
    .where('recordId', '=', recordId)
    .where('column', '=', timeColumn)
    .orderBy('firstRow')
    .execute();
  let start: number | null = null;
  let end = 0;
  let rows = 0;
  for (const { firstRow, rowCount, min, max } of chunks) {
    rows = firstRow + rowCount;
    if (max < fromS || min > toS) continue;
    if (min >= fromS && max <= toS) {
      start ??= firstRow;
      end = rows;
      continue;
    }
    const times = await readColumn(store, recordId, timeColumn, { start: firstRow, end: rows });
    for (let i = 0; i < times.length; i++) {
      if (times[i] < fromS || times[i] > toS) continue;
      start ??= firstRow + i;
      end = firstRow + i + 1;
    }
  }
  if (start === null) return { start: 0, end: 0 };
  return { start: Math.max(0, start - 1), end: Math.min(rows, end + 1) };
}
