import type { Dialect } from './dialect.ts';
import { parseNumber, splitFields } from './fields.ts';
import type { LineBlocks } from './lineBlocks.ts';
import type { Refusal } from './refusedFile.ts';
import { RefusedFile, shorten } from './refusedFile.ts';
import { timeFormatOf } from './timeText.ts';

/**
 * What becomes of lines after the data that are not rows. Left out: a footer of texts is taken with a note, a row that is
 * cut off refuses the file.
 */
export type AfterData = 'leave-out' | 'refuse';

/** More lines than this after the first one that is not a row are not a footer. */
const mostLines = 200;
const mostBytes = 64 * 1024;
/** So many rows with one number of decimals say that a number with fewer was cut off. */
const rowsLookedAt = 20;

const rowFaults: ReadonlySet<string> = new Set([
  'field-count',
  'not-a-number',
  'missing-value',
  'not-finite',
  'unclosed-quote',
]);

/** How a row of the file is distinguished from a line of a footer. */
export interface RowShape {
  readonly dialect: Pick<Dialect, 'delimiter' | 'decimal'>;
  readonly width: number;
  /** Field that holds a number or a time in every row; -1 where no field must. */
  readonly leadingAt: number;
}

/**
 * What is to be done about a row that cannot be read, from the lines that come from it to the file's end.
 *
 * @returns a note where they are left out; null where the refusal stands
 */
export function judgeTail(
  refusal: Refusal,
  tail: readonly string[],
  shape: RowShape,
  choice: AfterData | undefined,
): string | null {
  const lines = tail.filter((line) => line.trim() !== '');
  if (choice === 'refuse' || lines.length === 0 || lines.length > mostLines || refusal.row === null)
    return null;
  const kept =
    choice === 'leave-out'
      ? lines.slice(1).some((line) => isWhole(line, shape))
      : lines.some((line) => isRow(line, shape));
  if (kept) return null;
  const rows =
    lines.length === 1 ? `line ${refusal.row}` : `${lines.length} lines from line ${refusal.row} on`;
  return `${rows} after the data ${lines.length === 1 ? 'was' : 'were'} left out: "${shorten(lines[0].trim(), 60)}"`;
}

/** A refusal that names the way out where the row is the file's last. */
export function withWayOut(refused: RefusedFile, tail: readonly string[]): RefusedFile {
  if (tail.filter((line) => line.trim() !== '').length !== 1) return refused;
  return new RefusedFile({
    ...refused.refusal,
    expected:
      `${refused.refusal.expected}; where the last line is cut off because the test still runs, leave it out with ` +
      '--after-data leave-out',
  });
}

/** Whether a line looks like a row of data, be it broken: its leading field is a number or time, or most fields are numbers. */
function isRow(line: string, shape: RowShape): boolean {
  const fields = splitFields(line, shape.dialect.delimiter);
  // In a table whatever has a second field, or is one bare word, may be a cell whose row was cut off.
  if (shape.leadingAt < 0)
    return fields.filter((field) => field !== '').length > 1 || !/[\s:=]/.test(line.trim());
  const leading = fields[shape.leadingAt] ?? '';
  if (leading !== '' && fields.length > 1 && isNumberOrTime(leading, shape)) return true;
  const numbers = fields.filter((field) => parseNumber(field, shape.dialect.decimal) !== null).length;
  return numbers >= 2 && numbers * 2 >= shape.width;
}

function isWhole(line: string, shape: RowShape): boolean {
  return splitFields(line, shape.dialect.delimiter).length === shape.width && isRow(line, shape);
}

function isNumberOrTime(text: string, { dialect }: RowShape): boolean {
  return parseNumber(text, dialect.decimal) !== null || timeFormatOf([text]) !== 'number';
}

/**
 * The lines from one line of a block to the file's end; null where they are more than a footer can be.
 *
 * @param lineAtStart lines of the file before the block's start
 */
export async function linesToEnd(
  blocks: LineBlocks,
  block: { start: number; end: number },
  lineAtStart: number,
  row: number,
): Promise<string[] | null> {
  const decoder = new TextDecoder(blocks.encoding);
  let at = block.start;
  for (let line = lineAtStart + 1; line < row; line++) {
    const next = blocks.buffer.indexOf(10, at);
    if (next < 0 || next >= block.end) return null;
    at = next + 1;
  }
  if (block.end - at > mostBytes) return null;
  let text = decoder.decode(blocks.buffer.subarray(at, block.end));
  for (let next = await blocks.next(); next !== null; next = await blocks.next()) {
    text += decoder.decode(blocks.buffer.subarray(next.start, next.end));
    if (text.length > mostBytes) return null;
  }
  return text.split('\n').map((line) => line.replace(/\r$/, ''));
}

/** Whether a refusal is one of a row that cannot be read, and not of values that cannot be. */
export function isRowFault(
  error: unknown,
): error is RefusedFile & { readonly refusal: Refusal & { readonly row: number } } {
  return error instanceof RefusedFile && error.refusal.row !== null && rowFaults.has(error.refusal.code);
}

/**
 * Whether the last line of a file without a line end was cut off within its last number: it has fewer decimals than the
 * rows before, all of which have the same.
 *
 * @param text the end of the file
 */
export function isLastNumberCut(text: string, delimiter: string, decimal: string): boolean {
  const lines = text.split('\n').map((line) => line.replace(/\r$/, ''));
  const last = lines.pop() ?? '';
  const before = lines.slice(-rowsLookedAt);
  if (before.length < rowsLookedAt) return false;
  const decimals = (line: string): number => {
    const field = splitFields(line, delimiter).at(-1) ?? '';
    const mark = field.indexOf(decimal);
    return mark < 0 ? 0 : field.length - mark - 1;
  };
  const usual = decimals(before[0]);
  return usual > 0 && before.every((line) => decimals(line) === usual) && decimals(last) < usual;
}
