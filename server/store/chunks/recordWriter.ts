import { insertRows } from '../insertRows.ts';
import type { Store } from '../store.ts';
import { ColumnPacker, type PackedColumn } from './columnPacker.ts';
import { rowsPerChunk } from './layout.ts';
import type { RowBlock } from './rowBlock.ts';

/** Packed bytes that wait for one transaction: long enough to make few of them, short enough to lock nobody out. */
const transactionBytes = 4 * 1024 * 1024;

/** The record that rows go to; its identifier may be given later, but before its chunks are stored. */
export interface RecordPlace {
  id: number | null;
}

const columns = ['recordId', 'column', 'firstRow', 'rowCount', 'min', 'max', 'data'] as const;

interface WaitingChunk {
  readonly record: RecordPlace;
  readonly column: number;
  readonly firstRow: number;
  readonly packed: PackedColumn;
}

/**
 * Collects packed chunks and writes them in short transactions of their own. The records they belong to must be
 * `staged`, so that no reader sees them before they are whole.
 */
export class ChunkQueue {
  private readonly waiting: WaitingChunk[] = [];
  private waitingBytes = 0;

  put(chunk: WaitingChunk): void {
    this.waiting.push(chunk);
    this.waitingBytes += chunk.packed.data.length;
  }

  /** Whether enough waits for a transaction. */
  get isFull(): boolean {
    return this.waitingBytes >= transactionBytes;
  }

  /** Stores what waits. What was put before is in the database when this has ended. */
  async flush(store: Store): Promise<void> {
    if (this.waiting.length === 0) return;
    const rows = this.waiting.map(({ record, column, firstRow, packed }) => {
      if (record.id === null) throw new Error('A chunk was to be stored before its record.');
      return { recordId: record.id, column, firstRow, ...packed };
    });
    await store.transaction(async (tx) => insertRows(tx, 'RecordChunk', columns, rows));
    this.waiting.length = 0;
    this.waitingBytes = 0;
  }
}

/** Packs the rows of one record as they come and puts finished chunks into a queue. */
export class RecordWriter {
  readonly record: RecordPlace;
  /** Rows taken so far. */
  rowCount = 0;
  private firstRow: number;
  private readonly queue: ChunkQueue;
  private readonly packers: readonly ColumnPacker[];
  private readonly rowsPerChunk: number;

  /** @param firstRow number of rows that the record has already */
  constructor(queue: ChunkQueue, record: RecordPlace, columnCount: number, firstRow = 0) {
    this.queue = queue;
    this.record = record;
    this.firstRow = firstRow;
    this.packers = Array.from({ length: columnCount }, () => new ColumnPacker());
    this.rowsPerChunk = rowsPerChunk(columnCount);
  }

  /** Takes rows `from` to `to` of a block. */
  rows(block: RowBlock, from: number, to: number): void {
    const { values, integers, decimals, stride } = block;
    let at = from;
    while (at < to) {
      const count = Math.min(to - at, this.rowsPerChunk - this.packers[0].size);
      for (let k = 0; k < this.packers.length; k++) {
        const start = k * stride + at;
        if (decimals[k] < 0) this.packers[k].add(values, start, start + count);
        else this.packers[k].addIntegers(values, integers, start, start + count, decimals[k]);
      }
      at += count;
      this.rowCount += count;
      if (this.packers[0].size === this.rowsPerChunk) this.closeChunk();
    }
  }

  /** Puts what is left into the queue; it is stored with the queue's next flush. */
  closeChunk(): void {
    const rows = this.packers[0].size;
    if (rows === 0) return;
    for (let column = 0; column < this.packers.length; column++) {
      const packed = this.packers[column].finish();
      this.queue.put({ record: this.record, column, firstRow: this.firstRow, packed });
    }
    this.firstRow += rows;
  }
}
