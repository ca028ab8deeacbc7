import { Readable } from 'node:stream';
import { gzipSync } from 'node:zlib';
import type { ByteSource } from '../../../server/import/byteSource.ts';
import { bufferSource, gunzipSource } from '../../../server/import/byteSource.ts';
import { readRuns } from '../../../server/import/readRecordFile.ts';
import { readTable } from '../../../server/import/readTableFile.ts';
import { RefusedFile, refusalCodes } from '../../../server/import/refusedFile.ts';
import { isSpectrumHeader } from '../../../server/import/spectrumColumns.ts';
import { readSpectra } from '../../../server/import/spectrumTable.ts';
import { mutatedFile, seededNumbers } from './mutateFile.ts';

export interface FuzzSummary {
  readonly files: number;
  readonly taken: number;
  readonly refused: Readonly<Record<string, number>>;
  readonly slowestMs: number;
  /** Number of the file that took longest. */
  readonly slowest: number;
  readonly peakMb: number;
}

/**
 * Reads mutated files `from` to `to`. Each must be taken or refused by name.
 *
 * @throws Error naming the file's number where anything else happens
 */
export async function runFuzz(from: number, to: number, tell?: (done: number) => void): Promise<FuzzSummary> {
  const refused: Record<string, number> = {};
  let taken = 0;
  let slowestMs = 0;
  let slowest = from;
  let peakMb = 0;
  for (let n = from; n < to; n++) {
    const start = performance.now();
    const code = await outcome(n);
    const took = performance.now() - start;
    if (took > slowestMs) {
      slowestMs = took;
      slowest = n;
    }
    if (code === null) taken++;
    else refused[code] = (refused[code] ?? 0) + 1;
    if (n % 500 === 0) {
      peakMb = Math.max(peakMb, process.memoryUsage.rss() / 1048576);
      tell?.(n - from);
    }
  }
  return { files: to - from, taken, refused, slowestMs, slowest, peakMb };
}

/** The code of the refusal of file `n`, or null where it was taken. */
async function outcome(n: number): Promise<string | null> {
  const bytes = mutatedFile(n);
  const random = seededNumbers(n ^ 0x5bd1e995);
  try {
    if (random() < 0.7) await readRuns(sourceOf(bytes, random));
    else {
      const table = await readTable(sourceOf(bytes, random));
      if (isSpectrumHeader(table.header, table.units)) readSpectra(table);
    }
    return null;
  } catch (error) {
    if (error instanceof RefusedFile && refusalCodes.includes(error.refusal.code)) {
      const { reason, expected } = error.refusal;
      if (reason === '' || expected === '') throw new Error(`File ${n} is refused without a reason`);
      return error.refusal.code;
    }
    throw new Error(
      `Mutated file ${n} made the reader fail: ${error instanceof Error ? error.stack : error}`,
    );
  }
}

/** The bytes as they are, or packed with gzip, which may be damaged in its turn. */
function sourceOf(bytes: Buffer, random: () => number): ByteSource {
  if (random() < 0.85) return bufferSource(bytes);
  const packed = gzipSync(bytes, { level: 1 });
  if (random() < 0.5) packed[Math.floor(random() * packed.length)] ^= 1 << Math.floor(random() * 8);
  const end = random() < 0.3 ? Math.floor(random() * packed.length) : packed.length;
  return gunzipSource(Readable.from([packed.subarray(0, end)]));
}

/** Bytes without end: `head`, then `filler` again and again up to `bytes`. */
export function endlessSource(head: string, filler: number, bytes: number): ByteSource {
  let given = 0;
  const start = Buffer.from(head);
  return {
    size: bytes,
    async read(into, offset) {
      const count = Math.min(into.length - offset, bytes - given);
      into.fill(filler, offset, offset + count);
      if (given < start.length) into.set(start.subarray(given, given + count), offset);
      given += count;
      return count;
    },
    async close() {},
  };
}
