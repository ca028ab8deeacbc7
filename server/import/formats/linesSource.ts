import { createHash } from 'node:crypto';
import type { ByteSource } from '../byteSource.ts';

/**
 * Lines of text as a byte source. The hash is that of the file they came from.
 *
 * @param bytes of the file
 * @param lines with their line feeds
 */
export function linesSource(bytes: Uint8Array, lines: AsyncIterable<string>): ByteSource {
  const iterator = lines[Symbol.asyncIterator]();
  let rest: Buffer = Buffer.alloc(0);
  return {
    size: bytes.length,
    digest: () => createHash('sha256').update(bytes).digest('hex'),
    async read(into, offset) {
      while (rest.length === 0) {
        const next = await iterator.next();
        if (next.done === true) return 0;
        rest = Buffer.from(next.value);
      }
      const count = Math.min(rest.length, into.length - offset);
      into.set(rest.subarray(0, count), offset);
      rest = rest.subarray(count);
      return count;
    },
    async close() {
      await iterator.return?.();
    },
  };
}

/** A field of a line with tabs: what would end it is written as a blank. */
export function plainField(text: string): string {
  return /[\t\r\n"]/.test(text) ? text.replace(/[\t\r\n"]+/g, ' ').trim() : text;
}
