import { createHash } from 'node:crypto';
import type { ByteSource } from '../byteSource.ts';
import { parseNumber } from '../fields.ts';
import { RefusedFile } from '../refusedFile.ts';

/** Line breaks within one quoted field beyond which its quote is taken to be missing. */
const mostBreaks = 50;
const newline = 10;
const carriageReturn = 13;
const quote = 34;
const blank = 32;

/** Rewrites a piece of text; called with null once at the end. */
type Rewrite = (piece: Buffer | null) => Buffer;

/**
 * Text whose lines end with a lone carriage return, whose quoted fields hold line breaks, or whose columns are set apart by
 * blanks, as lines of the usual kind. Every line keeps its number: what a quoted field breaks into becomes one line, and
 * empty ones after it.
 *
 * @param beginning the text's first characters, from which it is recognised
 * @param separated whether a separator was given, so that blanks are none
 * @returns null for text of the usual kind
 */
export function plainLines(
  beginning: string,
  separated: boolean,
): { rewrite: Rewrite; note: string | null } | null {
  if (/\r[^\n]/.test(beginning) && !beginning.includes('\n')) return { rewrite: lineFeeds, note: null };
  if (hasBrokenFields(beginning)) return { rewrite: closedFields(), note: null };
  const width = separated ? null : blankWidth(beginning);
  if (width === null) return null;
  return { rewrite: tabbed(width), note: 'the columns are set apart by blanks' };
}

/** A source whose text is rewritten on the way; the hash stays that of the file's own bytes. */
export function rewrittenSource(source: ByteSource, rewrite: Rewrite): ByteSource {
  const hash = createHash('sha256');
  const piece = Buffer.alloc(128 * 1024);
  let rest: Buffer = Buffer.alloc(0);
  let ended = false;
  return {
    size: source.size,
    digest: () => source.digest?.() ?? hash.digest('hex'),
    async read(into, offset) {
      while (rest.length === 0 && !ended) {
        const count = await source.read(piece, 0);
        ended = count === 0;
        if (source.digest === undefined) hash.update(piece.subarray(0, count));
        rest = rewrite(ended ? null : piece.subarray(0, count));
      }
      const count = Math.min(rest.length, into.length - offset);
      into.set(rest.subarray(0, count), offset);
      rest = rest.subarray(count);
      return count;
    },
    close: () => source.close(),
  };
}

function lineFeeds(piece: Buffer | null): Buffer {
  if (piece === null) return Buffer.alloc(0);
  return Buffer.from(piece.map((byte) => (byte === carriageReturn ? newline : byte)));
}

/** Whether a field that begins and ends with a quote holds a line break. */
function hasBrokenFields(text: string): boolean {
  return /(?:^|[\n,;\t|])"[^"\n]{0,200}(?:\r?\n[^"\n]{0,200}){1,5}"(?=[\r\n,;\t|]|$)/.test(
    // Fields that close in their line are no matter.
    text.replace(/"(?:[^"\r\n]|"")*"(?=[\r\n,;\t|]|$)/g, '""'),
  );
}

function closedFields(): Rewrite {
  let quoted = false;
  let breaks = 0;
  let line = 1;
  return (piece) => {
    if (piece === null) return Buffer.alloc(breaks, newline);
    const out = Buffer.alloc(2 * piece.length + breaks);
    let at = 0;
    for (const byte of piece) {
      if (byte === quote) quoted = !quoted;
      if (byte === newline && quoted) {
        if (++breaks > mostBreaks) throw unclosed(line);
        out[at++] = blank;
      } else if (byte === newline) {
        line += breaks + 1;
        out.fill(newline, at, at + breaks + 1);
        at += breaks + 1;
        breaks = 0;
      } else if (byte !== carriageReturn || !quoted) out[at++] = byte;
    }
    return out.subarray(0, at);
  };
}

function unclosed(row: number): RefusedFile {
  return new RefusedFile({
    code: 'unclosed-quote',
    row,
    reason: `A quoted field does not end within ${mostBreaks} lines`,
    expected: 'Close the quote',
  });
}

/** Columns of a table that nothing but blanks sets apart; null for any other text. */
function blankWidth(text: string): number | null {
  const lines = text.split(/\r?\n/).slice(0, -1);
  const widths = lines
    .map((line) => line.trim().split(/\s+/))
    .filter((fields) =>
      fields.every((field) => parseNumber(field, '.') !== null || parseNumber(field, ',') !== null),
    )
    .map((fields) => fields.length);
  const width = widths[0] ?? 0;
  const alike = widths.length >= 3 && width >= 3 && widths.every((one) => one === width);
  return alike && !/[;\t|]/.test(text) ? width : null;
}

/** Lines with a tab between columns; names may hold one blank where two set columns apart. */
function tabbed(width: number): Rewrite {
  let open = '';
  const line = (text: string): string => {
    const fields = text.trim().split(/[ \t]+/);
    const named = text.trim().split(/[ \t]{2,}/);
    return (fields.length !== width && named.length === width ? named : fields).join('\t');
  };
  return (piece) => {
    const lines = (open + (piece?.toString('latin1') ?? '')).split('\n');
    open = piece === null ? '' : (lines.pop() ?? '');
    const text = lines.map(line).join('\n');
    return Buffer.from(lines.length === 0 || piece === null ? text : `${text}\n`, 'latin1');
  };
}
