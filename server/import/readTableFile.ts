import { TextDecoder } from 'node:util';
import { type AfterData, isRowFault, judgeTail, linesToEnd, withWayOut } from './afterData.ts';
import type { ByteSource } from './byteSource.ts';
import { openFile } from './byteSource.ts';
import type { Dialect, DialectOptions } from './dialect.ts';
import { splitFields } from './fields.ts';
import { PassedLines, passedOver } from './passedLines.ts';
import { RefusedFile } from './refusedFile.ts';
import type { OpenedTable } from './streamRecord.ts';
import { openTable } from './streamRecord.ts';

export interface TableFile {
  readonly header: readonly string[];
  /** Unit of each column where a units row stands below the header; units inside header names stay there. */
  readonly units: readonly (string | null)[];
  /** Fields as texts, trimmed, without quotes; every row as long as the header. */
  readonly rows: readonly (readonly string[])[];
  /** Line of each row in the file, 1-based, for messages. */
  readonly lines: readonly number[];
  readonly dialect: Dialect;
  /** What the reader should know of the file as a whole: its sheet, its encoding, what was left out. */
  readonly notes: readonly string[];
  readonly sha256: string;
  readonly byteCount: number;
}

/** Rows of a cell, cycle or step table beyond which the file is refused: such tables are read into memory. */
const maxRows = 2_000_000;

/** How a table is written, and what becomes of lines after it. */
export interface TableReading extends DialectOptions {
  readonly afterData?: AfterData;
}

/**
 * Reads a table of texts and numbers (cells, cycles, tester steps) into memory.
 *
 * @throws RefusedFile with row, column, value, reason and what would be right.
 */
export async function readTableFile(path: string, options: TableReading = {}): Promise<TableFile> {
  const source = await openFile(path);
  try {
    return await readTable(source, options);
  } finally {
    await source.close();
  }
}

/** As {@link readTableFile}, from any source of bytes. */
export async function readTable(source: ByteSource, options: TableReading = {}): Promise<TableFile> {
  return readRows(await openTable(source, options), options.afterData);
}

/** The second half of {@link readTable}, for a file that is open already. */
export async function readRows(opened: OpenedTable, afterData?: AfterData): Promise<TableFile> {
  const { blocks, head, encoding } = opened;
  const { dialect, header, units } = head;
  const decoder = new TextDecoder(encoding);
  const rows: string[][] = [];
  const lines: number[] = [];
  const notes = [...opened.notes];
  const passed = new PassedLines();
  let line = 0;
  let block: { start: number; end: number } | null = { start: 0, end: opened.firstEnd };
  reading: while (block !== null) {
    const lineAtStart = line;
    const text = decoder.decode(blocks.buffer.subarray(block.start, block.end));
    for (const piece of text.split('\n').slice(0, -1)) {
      line++;
      const clean = piece.replace(/\r$/, '');
      if (line < dialect.firstDataLine || clean.trim() === '') continue;
      const what = passedOver(clean, head.headLines, false);
      if (what !== null) {
        passed.note(what, line);
        continue;
      }
      try {
        rows.push(tableRow(clean, dialect, header, line));
      } catch (error) {
        if (!isRowFault(error)) throw error;
        const tail = await linesToEnd(blocks, block, lineAtStart, error.refusal.row);
        const shape = { dialect, width: header.length, leadingAt: -1 };
        const note = tail === null ? null : judgeTail(error.refusal, tail, shape, afterData);
        if (note === null) throw tail === null ? error : withWayOut(error, tail);
        notes.push(note);
        break reading;
      }
      lines.push(line);
      if (rows.length > maxRows)
        throw refuse('too-many-rows', line, `The table has more than ${maxRows} rows`);
    }
    blocks.linesBefore = line;
    block = await blocks.next();
  }
  notes.push(...passed.remarks());
  dropSummaryRows(rows, lines, notes, afterData);
  if (rows.length === 0) throw refuse('no-rows', line, 'The file has a header but no rows');
  return { header, units, rows, lines, dialect, notes, sha256: blocks.digest(), byteCount: blocks.bytesRead };
}

/** What a row of statistics below a table calls itself. */
const summaryWords =
  /^(mean|average|avg\.?|median|min\.?|minimum|max\.?|maximum|std\.?|stdev|standard deviation|sd|sigma|σ|sum|total|count|n|cpk?|range|mittelwert|mittel|summe|anzahl|standardabweichung|stabw\.?|spannweite)$/i;

/** Rows of statistics at the table's end are not cells: a mean would become a cell named "Mean". */
function dropSummaryRows(rows: string[][], lines: number[], notes: string[], afterData?: AfterData): void {
  if (afterData === 'refuse') return;
  const dropped: string[] = [];
  for (let row = rows.at(-1); row !== undefined && rows.length > 1; row = rows.at(-1)) {
    const filled = row.filter((field) => field !== '');
    const name = filled[0] ?? '';
    const remark = filled.length === 1 && /[:=]/.test(name);
    if (!remark && !summaryWords.test(name.replace(/[:=]$/, '').trim())) break;
    dropped.unshift(name);
    rows.pop();
    lines.pop();
  }
  if (dropped.length > 0)
    notes.push(
      `rows below the table that are not cells were left out: ${dropped.map((name) => `"${name}"`).join(', ')}`,
    );
}

function tableRow(text: string, dialect: Dialect, header: readonly string[], line: number): string[] {
  if ((text.match(/"/g)?.length ?? 0) % 2 === 1) {
    throw refuse('unclosed-quote', line, 'A quoted field does not end in its line');
  }
  const fields = splitFields(text, dialect.delimiter);
  while (fields.length > header.length && fields[fields.length - 1] === '') fields.pop();
  if (fields.length !== header.length) {
    throw new RefusedFile({
      code: 'field-count',
      row: line,
      value: text,
      reason: `The row has ${fields.length} fields where the header has ${header.length}`,
      expected: `Every row needs ${header.length} fields, separated by "${dialect.delimiter === '\t' ? 'tab' : dialect.delimiter}"`,
    });
  }
  return fields;
}

function refuse(code: 'no-rows' | 'unclosed-quote' | 'too-many-rows', row: number | null, reason: string) {
  return new RefusedFile({ code, row, reason, expected: 'A table needs a header line and at least one row' });
}
