import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { type Compressors, parquetMetadataAsync, parquetReadObjects } from 'hyparquet';
import { RefusedFile } from '../refusedFile.ts';
import { linesSource, plainField } from './linesSource.ts';
import type { TextSource } from './textSource.ts';

/** Besides those that the reader has itself: uncompressed and Snappy. */
const compressors: Compressors = Object.fromEntries([
  ['GZIP', (packed: Uint8Array) => gunzipSync(packed)],
  ['BROTLI', (packed: Uint8Array) => brotliDecompressSync(packed)],
]);

/** Rows that are unpacked at a time. */
const rowsAtATime = 8192;

/**
 * The rows of a Parquet file as lines with tabs: the header is line 1, the first row line 2. A float64 is written with the
 * digits that give the same float64 again.
 *
 * @throws RefusedFile `corrupt-compression` where the file is damaged or packed in a way that is not read
 */
export async function parquetText(bytes: Buffer): Promise<TextSource> {
  const file = {
    byteLength: bytes.length,
    slice: (start: number, end?: number) => exactBuffer(bytes.subarray(start, end)),
  };
  const metadata = await parquetMetadataAsync(file).catch((error: Error) => {
    throw damaged(error);
  });
  // Only columns of single values; a list or a group has no place in a table.
  const columns = metadata.schema
    .slice(1)
    .filter(
      (element) =>
        element.type !== undefined &&
        (element.num_children ?? 0) === 0 &&
        element.repetition_type !== 'REPEATED',
    )
    .map(({ name }) => name);
  const rowCount = Number(metadata.num_rows);
  async function* lines(): AsyncGenerator<string> {
    yield `${columns.map(plainField).join('\t')}\n`;
    for (let rowStart = 0; rowStart < rowCount; rowStart += rowsAtATime) {
      const rows = await parquetReadObjects({
        file,
        metadata,
        columns,
        rowStart,
        rowEnd: Math.min(rowCount, rowStart + rowsAtATime),
        compressors,
      }).catch((error: Error) => {
        throw damaged(error);
      });
      let text = '';
      for (const row of rows) text += `${columns.map((name) => textOf(row[name])).join('\t')}\n`;
      yield text;
    }
  }
  return { source: linesSource(bytes, lines()), encoding: null, notes: [] };
}

function exactBuffer(bytes: Buffer): ArrayBuffer {
  return bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) as ArrayBuffer;
}

function textOf(value: unknown): string {
  if (value === null || value === undefined) return '';
  if (value instanceof Date) return value.toISOString().replace('T', ' ').replace('Z', '');
  return typeof value === 'string' ? plainField(value) : String(value);
}

function damaged(error: Error): RefusedFile {
  return new RefusedFile({
    code: 'corrupt-compression',
    reason: `The Parquet file cannot be read (${error.message.slice(0, 120)})`,
    expected: 'Write it again, uncompressed or with Snappy, gzip or Brotli, or export CSV text',
  });
}
