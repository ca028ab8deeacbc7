import { createHash } from 'node:crypto';
import { TextDecoder } from 'node:util';
import type { ByteSource } from '../byteSource.ts';
import { RefusedFile } from '../refusedFile.ts';
import { plainLines, rewrittenSource } from './plainLines.ts';

/** A source as text lines, whatever its container or encoding. */
export interface TextSource {
  readonly source: ByteSource;
  /** Encoding of the file where it was changed to UTF-8 on the way; null for text that is read as it is. */
  readonly encoding: 'utf-16le' | 'utf-16be' | null;
  /** What the reader should know: the sheet that was taken, for instance. */
  readonly notes: readonly string[];
}

const beginningBytes = 4096;
/** Spreadsheets and Parquet files are read at any place, so those that do not lie on a disk are held in memory. */
const heldBytes = 512 * 1024 * 1024;

/**
 * Finds out what a file is by its first bytes: text is passed on as it is, UTF-16 is changed to UTF-8 on the way, and the
 * rows of a spreadsheet or a Parquet file become lines of text with tabs, one line for each row of the sheet. Text with unusual
 * lines is put into usual ones.
 *
 * @throws RefusedFile `unknown-format` for binary formats that are not read
 */
export async function asText(
  source: ByteSource,
  options: { sheet?: string; delimiter?: string } = {},
): Promise<TextSource> {
  const beginning = await readBeginning(source);
  const whole = withBeginning(source, beginning);
  const starts = (...bytes: number[]): boolean => bytes.every((byte, i) => beginning[i] === byte);
  // Their readers are loaded only for them: most files are text.
  if (starts(0x50, 0x4b, 0x03, 0x04)) {
    const { spreadsheetText } = await import('./spreadsheet.ts');
    return spreadsheetText(await held(whole), options.sheet);
  }
  if (starts(0x50, 0x41, 0x52, 0x31)) {
    const { parquetText } = await import('./parquet.ts');
    return parquetText(await held(whole));
  }
  refuseBinary(beginning, starts);
  const utf16 = utf16Of(beginning);
  const text = utf16 === null ? whole : decoded(whole, utf16);
  const look = new TextDecoder(utf16 ?? 'latin1').decode(beginning);
  const plain = plainLines(look, options.delimiter !== undefined);
  if (plain === null) return { source: text, encoding: utf16, notes: [] };
  return {
    source: rewrittenSource(text, plain.rewrite),
    encoding: utf16,
    notes: plain.note === null ? [] : [plain.note],
  };
}

/** Whether a file's first bytes are those of a container that must be had whole to be read. */
export function needsWholeFile(beginning: Uint8Array): boolean {
  const text = String.fromCharCode(...beginning.subarray(0, 4));
  return text === 'PK\x03\x04' || text === 'PAR1';
}

async function readBeginning(source: ByteSource): Promise<Uint8Array> {
  const bytes = new Uint8Array(beginningBytes);
  let filled = 0;
  while (filled < bytes.length) {
    const count = await source.read(bytes, filled);
    if (count === 0) break;
    filled += count;
  }
  return bytes.subarray(0, filled);
}

function withBeginning(source: ByteSource, beginning: Uint8Array): ByteSource {
  let at = 0;
  return {
    ...source,
    size: source.size,
    async read(into, offset) {
      if (at >= beginning.length) return source.read(into, offset);
      const count = Math.min(beginning.length - at, into.length - offset);
      into.set(beginning.subarray(at, at + count), offset);
      at += count;
      return count;
    },
    close: () => source.close(),
  };
}

async function held(source: ByteSource): Promise<Buffer> {
  const pieces: Buffer[] = [];
  let length = 0;
  for (;;) {
    const piece = Buffer.alloc(1024 * 1024);
    const count = await source.read(piece, 0);
    if (count === 0) break;
    pieces.push(piece.subarray(0, count));
    length += count;
    if (length > heldBytes)
      throw new RefusedFile({
        code: 'expands-too-far',
        reason: `The file is larger than ${heldBytes / 1024 / 1024} MiB, more than a spreadsheet or Parquet file may be`,
        expected: 'Export it as CSV text, which may be of any size',
      });
  }
  return Buffer.concat(pieces, length);
}

function refuseBinary(beginning: Uint8Array, starts: (...bytes: number[]) => boolean): void {
  const text = String.fromCharCode(...beginning.subarray(0, 128));
  const what = text.startsWith('MATLAB 5.0 MAT-file')
    ? 'a MAT file'
    : starts(0x89, 0x48, 0x44, 0x46)
      ? 'an HDF5 file (or a MAT file of version 7.3)'
      : starts(0xd0, 0xcf, 0x11, 0xe0)
        ? 'a spreadsheet in the old binary format'
        : null;
  if (what === null) return;
  throw new RefusedFile({
    code: 'unknown-format',
    value: text.slice(0, 20),
    reason: `This is ${what}, which is not read`,
    expected: 'Export the table as CSV text, .xlsx or Parquet',
  });
}

/** By its mark; without one by its zero bytes: plain letters and digits have one in every second place. */
function utf16Of(beginning: Uint8Array): 'utf-16le' | 'utf-16be' | null {
  const [a, b] = beginning;
  if (a === 0xff && b === 0xfe) return 'utf-16le';
  if (a === 0xfe && b === 0xff) return 'utf-16be';
  const look = beginning.subarray(0, 512);
  if (look.length < 8) return null;
  const zeros = [0, 0];
  look.forEach((byte, i) => {
    if (byte === 0) zeros[i % 2]++;
  });
  const half = look.length / 2;
  if (zeros[1] > 0.6 * half && zeros[0] < 0.02 * half) return 'utf-16le';
  return zeros[0] > 0.6 * half && zeros[1] < 0.02 * half ? 'utf-16be' : null;
}

/** UTF-16 changed to UTF-8 piece by piece; the hash stays that of the file's own bytes. */
function decoded(source: ByteSource, encoding: 'utf-16le' | 'utf-16be'): ByteSource {
  const decoder = new TextDecoder(encoding, { fatal: true });
  const hash = createHash('sha256');
  const piece = Buffer.alloc(64 * 1024);
  let rest: Buffer = Buffer.alloc(0);
  let ended = false;
  const decode = (bytes?: Uint8Array): Buffer => {
    try {
      return Buffer.from(decoder.decode(bytes, { stream: bytes !== undefined }));
    } catch {
      throw new RefusedFile({
        code: 'wrong-encoding',
        reason: 'The file begins as UTF-16 and holds bytes that are not',
        expected: 'Save the file as UTF-8',
      });
    }
  };
  return {
    size: source.size,
    digest: () => hash.digest('hex'),
    async read(into, offset) {
      while (rest.length === 0 && !ended) {
        const count = await source.read(piece, 0);
        ended = count === 0;
        hash.update(piece.subarray(0, count));
        rest = ended ? decode() : decode(piece.subarray(0, count));
      }
      const count = Math.min(rest.length, into.length - offset);
      into.set(rest.subarray(0, count), offset);
      rest = rest.subarray(count);
      return count;
    },
    close: () => source.close(),
  };
}
