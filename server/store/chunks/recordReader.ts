import type Database from 'better-sqlite3';
import { DamagedChunk, unpackColumn } from './unpackColumn.ts';

interface ChunkRow {
  readonly firstRow: number;
  readonly rowCount: number;
  readonly data: Buffer;
}

/** Rows `start` (included) to `end` (excluded) of a record. */
export interface StoredRange {
  readonly start: number;
  readonly end: number;
}

/**
 * Reads one column of a stored record, bit for bit.
 *
 * @param column place of the column in the record's `columnsJson`
 * @param range the rows wanted; only the chunks that hold them are unpacked
 * @throws DamagedChunk where rows are missing or cannot be read
 */
export function readColumn(
  database: Database.Database,
  recordId: number,
  column: number,
  range: StoredRange,
): Float64Array {
  const wanted = Math.max(0, range.end - range.start);
  const values = new Float64Array(wanted);
  const chunks = database
    .prepare<[number, number, number, number], ChunkRow>(
      `SELECT firstRow, rowCount, data FROM RecordChunk
       WHERE recordId = ? AND "column" = ? AND firstRow < ? AND firstRow + rowCount > ? ORDER BY firstRow`,
    )
    .iterate(recordId, column, range.end, range.start);
  let at = 0;
  for (const chunk of chunks) {
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
 * Goes through a column chunk by chunk without holding it as a whole. The array handed to `visit` is used again.
 *
 * @param visit gets the values, how many of them count, and the number of the first row
 */
export function visitColumn(
  database: Database.Database,
  recordId: number,
  column: number,
  visit: (values: Float64Array, count: number, firstRow: number) => void,
): void {
  const chunks = database
    .prepare<[number, number], ChunkRow>(
      'SELECT firstRow, rowCount, data FROM RecordChunk WHERE recordId = ? AND "column" = ? ORDER BY firstRow',
    )
    .iterate(recordId, column);
  let values = new Float64Array(0);
  for (const chunk of chunks) {
    if (values.length < chunk.rowCount) values = new Float64Array(chunk.rowCount);
    visit(values, checkedUnpack(chunk, values, 0), chunk.firstRow);
  }
}

/**
 * The rows of a record between two times, found from the least and greatest time of each chunk and then row by row.
 * One row more is given on either side where there is one, so that a line drawn through them reaches the edges.
 */
export function findRows(
  database: Database.Database,
  recordId: number,
  timeColumn: number,
  fromS: number,
  toS: number,
): StoredRange {
  const chunks = database
    .prepare<[number, number], ChunkRow & { min: number; max: number }>(
      `SELECT firstRow, rowCount, min, max, data FROM RecordChunk WHERE recordId = ? AND "column" = ?
       ORDER BY firstRow`,
    )
    .iterate(recordId, timeColumn);
  let start: number | null = null;
  let end = 0;
  let rows = 0;
  for (const chunk of chunks) {
    rows = chunk.firstRow + chunk.rowCount;
    if (chunk.max < fromS || chunk.min > toS) continue;
    const times = new Float64Array(chunk.rowCount);
    checkedUnpack(chunk, times, 0);
    for (let i = 0; i < times.length; i++) {
      if (times[i] < fromS || times[i] > toS) continue;
      start ??= chunk.firstRow + i;
      end = chunk.firstRow + i + 1;
    }
  }
  if (start === null) return { start: 0, end: 0 };
  return { start: Math.max(0, start - 1), end: Math.min(rows, end + 1) };
}
