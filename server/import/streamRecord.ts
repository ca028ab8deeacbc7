import type { ByteSource } from './byteSource.ts';
import type { DialectOptions, Encoding, TableHead } from './dialect.ts';
import { findDialect } from './dialect.ts';
import type { PlausibleLimits } from './limits.ts';
import { defaultLimits } from './limits.ts';
import { LineBlocks } from './lineBlocks.ts';
import type { PlanOptions, RecordPlan } from './recordPlan.ts';
import { planRecord } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';
import { RowParser } from './rowParser.ts';
import type { RunSink } from './runSink.ts';

export interface RecordSourceOptions extends DialectOptions, PlanOptions {
  readonly limits?: Partial<PlausibleLimits>;
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
  readonly encoding: Encoding;
  /** End of the first block in the blocks' buffer. */
  readonly firstEnd: number;
}

/**
 * Reads the beginning of a file and finds out how it is written.
 *
 * @throws RefusedFile for everything that is wrong with the head
 */
export async function openTable(source: ByteSource, options: DialectOptions = {}): Promise<OpenedTable> {
  const encoding = options.encoding ?? 'utf-8';
  const blocks = new LineBlocks(source, encoding);
  const block = await blocks.next();
  if (block === null) throw emptyFile();
  const { text, complete } = blocks.sample();
  return { blocks, head: findDialect(text, complete, encoding, options), encoding, firstEnd: block.end };
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
): Promise<StreamedRecord> {
  const opened = await openTable(source, options);
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
  while (block !== null) {
    parser.parse(blocks.buffer, block.start, block.end);
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
    warnings: [...plan.warnings, ...parser.remarks()],
    sha256: blocks.digest(),
  };
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
