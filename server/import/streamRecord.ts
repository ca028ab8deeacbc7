import {
  type AfterData,
  isLastNumberCut,
  isRowFault,
  judgeTail,
  linesToEnd,
  withWayOut,
} from './afterData.ts';
import type { ByteSource } from './byteSource.ts';
import type { DialectOptions, TableHead } from './dialect.ts';
import { findDialect } from './dialect.ts';
import { asText } from './formats/textSource.ts';
import { keptLines, type RowFilter } from './keptLines.ts';
import type { PlausibleLimits } from './limits.ts';
import { defaultLimits } from './limits.ts';
import { LineBlocks } from './lineBlocks.ts';
import type { PlanOptions } from './planOptions.ts';
import type { RecordPlan } from './recordPlan.ts';
import { planRecord } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';
import { RowParser } from './rowParser.ts';
import type { RunSink } from './runSink.ts';

export interface RecordSourceOptions extends DialectOptions, PlanOptions {
  readonly limits?: Partial<PlausibleLimits>;
  readonly afterData?: AfterData;
  /** Called after every block with the bytes read and the rows parsed so far; may throw to stop. */
  readonly onProgress?: (bytesRead: number, rowCount: number) => void;
}

export interface StreamedRecord {
  readonly plan: RecordPlan;
  readonly rowCount: number;
  readonly byteCount: number;
  readonly warnings: readonly string[];
  readonly sha256: string;
}

/** A file whose head is understood and whose first block is read. */
export interface OpenedTable {
  readonly blocks: LineBlocks;
  readonly head: TableHead;
  /** What the blocks are in. */
  readonly encoding: 'utf-8' | 'windows-1252';
  /** What the reader should know of the file as a whole. */
  readonly notes: readonly string[];
  /** End of the first block in the blocks' buffer. */
  readonly firstEnd: number;
}

/**
 * Reads the beginning of a file and finds out how it is written.
 *
 * @param only rows to read, by what an earlier reading of the head found
 * @throws RefusedFile for everything that is wrong with the head
 */
export async function openTable(
  source: ByteSource,
  options: DialectOptions = {},
  only: RowFilter | null = null,
): Promise<OpenedTable> {
  const text = await asText(source, options);
  const given = only === null ? (options.encoding ?? null) : ownEncoding(only.head);
  const from = only === null ? text.source : keptLines(text.source, given ?? 'utf-8', only);
  const blocks = new LineBlocks(from, text.encoding === null ? given : 'utf-8');
  const block = await blocks.next();
  if (block === null) throw emptyFile();
  const { encoding } = blocks;
  const sample = blocks.sample();
  const head = only?.head ?? findDialect(sample.text, sample.complete, text.encoding ?? encoding, options);
  const notes =
    options.encoding === undefined && encoding === 'windows-1252'
      ? [...text.notes, 'the file is not UTF-8; it was read as Windows-1252, which its signs fit']
      : text.notes;
  return { blocks, head, encoding, notes, firstEnd: block.end };
}

function ownEncoding({ dialect }: TableHead): 'utf-8' | 'windows-1252' {
  return dialect.encoding === 'windows-1252' ? 'windows-1252' : 'utf-8';
}

/**
 * Reads a record from a byte source in constant memory and hands its rows to a sink.
 *
 * @param openSink is called once, when the file's head is understood.
 * @throws RefusedFile for everything that is wrong with the file. The sink may have had rows by then: what it did with
 *   them must be undone.
 */
export async function streamRecord(
  source: ByteSource,
  options: RecordSourceOptions,
  openSink: (plan: RecordPlan) => RunSink,
  only: RowFilter | null = null,
): Promise<StreamedRecord> {
  const opened = await openTable(source, options, only);
  const plan = planRecord(opened.head, options);
  return streamRows(opened, plan, options, openSink(plan));
}

/** The second half of {@link streamRecord}, for a file that is open already. */
export async function streamRows(
  opened: OpenedTable,
  plan: RecordPlan,
  options: RecordSourceOptions,
  sink: RunSink,
): Promise<StreamedRecord> {
  const { blocks, encoding } = opened;
  const skippedLines = plan.dialect.firstDataLine - 1;
  const parser = new RowParser(plan, { ...defaultLimits, ...options.limits }, encoding, sink, skippedLines);
  let block: { start: number; end: number } | null = {
    start: afterLines(blocks.buffer, skippedLines, opened.firstEnd),
    end: opened.firstEnd,
  };
  const notes: string[] = [];
  while (block !== null) {
    if (blocks.lastLineOpen) block = withoutCutLine(blocks, block, parser.line, plan, options, notes);
    const lineAtStart = parser.line;
    try {
      parser.parse(blocks.buffer, block.start, block.end);
    } catch (error) {
      notes.push(await leaveOutTail(error, blocks, block, lineAtStart, plan, options));
      options.onProgress?.(blocks.bytesRead, parser.rowCount);
      break;
    }
    await sink.settle?.();
    options.onProgress?.(blocks.bytesRead, parser.rowCount);
    blocks.linesBefore = parser.line;
    block = await blocks.next();
  }
  parser.finish();
  return {
    plan,
    rowCount: parser.rowCount,
    byteCount: blocks.bytesRead,
    warnings: [...opened.notes, ...plan.warnings, ...parser.remarks(), ...notes],
    sha256: blocks.digest(),
  };
}

/** The note about lines that follow the data and are not rows. @throws the error where they are to refuse the file */
async function leaveOutTail(
  error: unknown,
  blocks: LineBlocks,
  block: { start: number; end: number },
  lineAtStart: number,
  plan: RecordPlan,
  options: RecordSourceOptions,
): Promise<string> {
  if (!isRowFault(error)) throw error;
  const tail = await linesToEnd(blocks, block, lineAtStart, error.refusal.row);
  if (tail === null) throw error;
  const shape = {
    dialect: plan.dialect,
    width: plan.header.length,
    leadingAt: plan.numbers[0].mapping.index,
  };
  const note = judgeTail(error.refusal, tail, shape, options.afterData);
  if (note === null) throw withWayOut(error, tail);
  return note;
}

/** The last block without a last line whose number was cut off. @throws RefusedFile where it is to refuse the file */
function withoutCutLine(
  blocks: LineBlocks,
  block: { start: number; end: number },
  lineAtStart: number,
  { dialect }: RecordPlan,
  options: RecordSourceOptions,
  notes: string[],
): { start: number; end: number } {
  // One line feed was added at the end.
  const from = Math.max(block.start, block.end - 32 * 1024);
  const text = new TextDecoder(blocks.encoding).decode(blocks.buffer.subarray(from, block.end - 1));
  if (!isLastNumberCut(text, dialect.delimiter, dialect.decimal)) return block;
  const lastStart = blocks.buffer.lastIndexOf(10, block.end - 2) + 1;
  let row = lineAtStart + 1;
  for (
    let at = blocks.buffer.indexOf(10, block.start);
    at >= 0 && at < lastStart;
    at = blocks.buffer.indexOf(10, at + 1)
  )
    row++;
  const value = text.slice(text.lastIndexOf('\n') + 1);
  if (options.afterData === 'leave-out') {
    notes.push(`line ${row} is cut off and was left out: "${value.slice(0, 60)}"`);
    return { start: block.start, end: lastStart };
  }
  throw new RefusedFile({
    code: 'cut-off',
    row,
    value,
    reason: 'The last line has no line end, and its last number fewer digits than all before: it is cut off',
    expected: 'Give the whole file, or leave the line out with --after-data leave-out',
  });
}

/** Place of the first byte after `lines` lines. */
function afterLines(bytes: Buffer, lines: number, end: number): number {
  let at = 0;
  for (let i = 0; i < lines; i++) {
    const found = bytes.indexOf(10, at);
    if (found < 0 || found >= end) return end;
    at = found + 1;
  }
  return at;
}

function emptyFile(): RefusedFile {
  return new RefusedFile({
    code: 'empty-file',
    reason: 'The file is empty',
    expected: 'A file needs a header line and at least one row',
  });
}
