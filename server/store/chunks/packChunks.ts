import { ColumnPacker, type PackedColumn } from './columnPacker.ts';
import { rowsPerChunk } from './layout.ts';

/** A stretch of rows of a record, packed column by column. */
export interface PackedChunk {
  readonly firstRow: number;
  readonly rowCount: number;
  readonly columns: readonly PackedColumn[];
}

/** Kept between calls: making them costs more than packing the few rows of a live batch. */
let packers: ColumnPacker[] = [];

/**
 * Packs rows that are there already, as `RecordWriter` packs rows that come.
 *
 * @param values one list a column, all equally long
 * @param firstRow number of the first of these rows in their record
 */
export function packChunks(values: readonly Float64Array[], firstRow: number): PackedChunk[] {
  const own = packers;
  // Whatever fails on the way leaves no half filled packer behind.
  packers = [];
  while (own.length < values.length) own.push(new ColumnPacker());
  const total = values[0].length;
  const longest = rowsPerChunk(values.length);
  const chunks: PackedChunk[] = [];
  for (let at = 0; at < total; at += longest) {
    const end = Math.min(total, at + longest);
    const columns = values.map((column, k) => {
      own[k].add(column, at, end);
      return own[k].finish();
    });
    chunks.push({ firstRow: firstRow + at, rowCount: end - at, columns });
  }
  packers = own;
  return chunks;
}
