import { createHash } from 'node:crypto';
import { TextDecoder } from 'node:util';
import type { ByteSource } from './byteSource.ts';
import type { TableHead } from './dialect.ts';
import { splitFields } from './fields.ts';

/** Which rows of a file are read: those whose fields this says yes to. Lines before the data always are. */
export interface RowFilter {
  readonly head: TableHead;
  readonly keep: (fields: readonly string[]) => boolean;
}

/**
 * A text source in which rows that are not wanted are empty lines, so that every line keeps its number and nothing that
 * stands in them is looked at. The hash stays that of the whole file.
 */
export function keptLines(source: ByteSource, encoding: string, { head, keep }: RowFilter): ByteSource {
  const hash = createHash('sha256');
  const decoder = new TextDecoder(encoding);
  const piece = Buffer.alloc(256 * 1024);
  let line = 0;
  let open: Buffer = Buffer.alloc(0);
  let ready: Buffer = Buffer.alloc(0);
  let ended = false;
  const take = (bytes: Buffer): Buffer => {
    line++;
    if (line < head.dialect.firstDataLine) return bytes;
    const text = decoder.decode(bytes).replace(/\r?\n$/, '');
    return text === '' || keep(splitFields(text, head.dialect.delimiter)) ? bytes : newline;
  };
  const fill = async (): Promise<void> => {
    const count = await source.read(piece, 0);
    ended = count === 0;
    if (source.digest === undefined) hash.update(piece.subarray(0, count));
    const bytes = Buffer.concat([open, piece.subarray(0, count)]);
    const lines: Buffer[] = [];
    let at = 0;
    for (let end = bytes.indexOf(10); end >= 0; end = bytes.indexOf(10, at)) {
      lines.push(take(bytes.subarray(at, end + 1)));
      at = end + 1;
    }
    open = Buffer.from(bytes.subarray(at));
    if (ended && open.length > 0) {
      lines.push(take(open));
      open = Buffer.alloc(0);
    }
    ready = Buffer.concat(lines);
  };
  return {
    size: source.size,
    digest: () => source.digest?.() ?? hash.digest('hex'),
    async read(into, offset) {
      while (ready.length === 0 && !ended) await fill();
      const count = Math.min(ready.length, into.length - offset);
      into.set(ready.subarray(0, count), offset);
      ready = ready.subarray(count);
      return count;
    },
    close: () => source.close(),
  };
}

const newline = Buffer.from('\n');
