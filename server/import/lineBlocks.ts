import { isUtf8 } from 'node:buffer';
import type { Hash } from 'node:crypto';
import { createHash } from 'node:crypto';
import { TextDecoder } from 'node:util';
import type { ByteSource } from './byteSource.ts';
import { RefusedFile } from './refusedFile.ts';

/** A line longer than this refuses the file. It is also the size of a block, which so stays in a core's cache. */
const blockBytes = 256 * 1024;
const newline = 10;

/**
 * Cuts a byte source into blocks of whole lines and hashes it on the way, in constant memory: one buffer is used again
 * for every block, so a block is valid only until the next one is asked for. Every block ends with a line feed; one is
 * added where the file's last line has none.
 */
export class LineBlocks {
  readonly buffer = Buffer.alloc(blockBytes + 8);
  /** Whether this is the last block and the file's last line had no line end. */
  lastLineOpen = false;
  /** Bytes taken from the source so far. */
  bytesRead = 0;
  /** Lines in the blocks given out before; whoever parses the blocks keeps it, for the place of an error. */
  linesBefore = 0;
  private readonly source: ByteSource;
  private readonly hash: Hash = createHash('sha256');
  /** What the blocks are in; where it was not given, the first block may show that it is Windows-1252. */
  encoding: 'utf-8' | 'windows-1252';
  private readonly guessing: boolean;
  private filled = 0;
  private blockEnd = 0;
  private ended = false;

  constructor(source: ByteSource, encoding: 'utf-8' | 'windows-1252' | null) {
    this.source = source;
    this.encoding = encoding ?? 'utf-8';
    this.guessing = encoding === null;
  }

  /** Start and end of the next block in `buffer`, or null after the last. */
  async next(): Promise<{ start: number; end: number } | null> {
    this.buffer.copyWithin(0, this.blockEnd, this.filled);
    this.filled -= this.blockEnd;
    this.blockEnd = 0;
    while (!this.ended && this.filled < blockBytes) {
      const view = this.buffer.subarray(0, blockBytes);
      const count = await this.source.read(view, this.filled);
      if (count === 0) this.ended = true;
      else if (this.source.digest === undefined)
        this.hash.update(view.subarray(this.filled, this.filled + count));
      this.bytesRead += count;
      this.filled += count;
    }
    if (this.filled === 0) return null;
    if (this.ended) {
      this.lastLineOpen = this.buffer[this.filled - 1] !== newline;
      if (this.lastLineOpen) this.buffer[this.filled++] = newline;
      this.blockEnd = this.filled;
    } else {
      this.blockEnd = this.buffer.lastIndexOf(newline, this.filled - 1) + 1;
      if (this.blockEnd === 0) throw tooLong();
    }
    this.checkText();
    return { start: 0, end: this.blockEnd };
  }

  /** The first block's text, to find the dialect from. Call after the first `next()`. */
  sample(): { text: string; complete: boolean } {
    const limit = this.blockEnd;
    const decoder = new TextDecoder(this.encoding, { ignoreBOM: true });
    return {
      text: decoder.decode(this.buffer.subarray(0, limit)),
      complete: limit === this.filled && this.ended,
    };
  }

  /** SHA-256 of all bytes read, as hexadecimal digits. Call once, after the last block. */
  digest(): string {
    return this.source.digest?.() ?? this.hash.digest('hex');
  }

  private checkText(): void {
    const block = this.buffer.subarray(0, this.blockEnd);
    const nul = block.indexOf(0);
    if (nul >= 0) {
      throw new RefusedFile({
        code: 'binary-content',
        row: this.linesBefore + countLines(block, nul) + 1,
        value: '\0',
        reason: 'The file holds a zero byte, so it is not a text table',
        expected: 'Export the record as a CSV text file in UTF-8',
      });
    }
    if (this.encoding !== 'utf-8' || isUtf8(block)) return;
    if (this.guessing && this.linesBefore === 0 && looksLikeWindows1252(block))
      this.encoding = 'windows-1252';
    else throw this.notUtf8(block);
  }

  private notUtf8(block: Buffer): RefusedFile {
    let start = 0;
    let row = this.linesBefore + 1;
    for (let end = block.indexOf(newline); end >= 0; end = block.indexOf(newline, start)) {
      if (!isUtf8(block.subarray(start, end))) break;
      start = end + 1;
      row++;
    }
    return new RefusedFile({
      code: 'wrong-encoding',
      row,
      reason: 'The line is not valid UTF-8',
      expected: 'Save the file as UTF-8, or say --encoding windows-1252 if that is what it is',
    });
  }
}

/**
 * Whether all bytes beyond ASCII are letters and signs that instruments write in Windows-1252: ° µ ² ³ ± · Ä Ö Ü ä ö ü ß é è.
 */
function looksLikeWindows1252(bytes: Uint8Array): boolean {
  return bytes.every((byte) => byte < 0x80 || usual1252.has(byte));
}

const usual1252 = new Set([
  0xb0, 0xb1, 0xb2, 0xb3, 0xb5, 0xb7, 0xc4, 0xd6, 0xdc, 0xdf, 0xe0, 0xe4, 0xe8, 0xe9, 0xf6, 0xfc, 0x96, 0x91,
  0x92, 0x93, 0x94,
]);

function countLines(bytes: Buffer, end: number): number {
  let count = 0;
  for (let at = bytes.indexOf(newline); at >= 0 && at < end; at = bytes.indexOf(newline, at + 1)) count++;
  return count;
}

function tooLong(): RefusedFile {
  return new RefusedFile({
    code: 'line-too-long',
    reason: `A line is longer than ${blockBytes} bytes`,
    expected: 'A table with one sample a line',
  });
}
