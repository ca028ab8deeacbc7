import { hostname } from 'node:os';
import { z } from 'zod';
import { inOrder } from '../inOrder.ts';
import { ChunkQueue, RecordWriter } from './chunks/recordWriter.ts';
import type { RowBlock } from './chunks/rowBlock.ts';
import { numbersIn } from './differences.ts';
import { isProcessAlive } from './processAlive.ts';
import type { StoredColumn } from './records.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** Runs of one file that are packed at the same time; of more, the one that waited longest closes its chunk early. */
const maxOpenWriters = 64;
/** Chunks removed in one transaction, so that removing a long record locks nobody out. */
const chunksPerRemoval = 500;

/** A record that was staged, with what is stored beside it when its file is taken. */
export interface StagedRecord {
  readonly recordId: number;
  readonly rowCount: number;
  readonly durationS: number;
}

interface Run {
  readonly writer: RecordWriter;
  firstTimeS: number;
  lastTimeS: number;
}

/**
 * Writes the runs of a file into staged records, which no reader sees, in short transactions. Afterwards either
 * `finish` gives them out to be sealed together with everything else of the file, or `drop` removes them.
 */
export class StagedRecords {
  private readonly store: Store;
  private readonly columns: readonly StoredColumn[];
  private readonly createdAt: string;
  private readonly queue = new ChunkQueue();
  private readonly runs: Run[] = [];
  private readonly open = new Set<number>();
  /** Runs before this one have their record row. New ones are made together: thousands would wait for the disk as often. */
  private made = 0;

  constructor(store: Store, columns: readonly StoredColumn[], createdAt: string) {
    this.store = store;
    this.columns = columns;
    this.createdAt = createdAt;
  }

  /** Begins the run with this number; runs are numbered from 0 without gaps. */
  begin(run: number): void {
    if (run !== this.runs.length)
      throw new RangeError(`Run ${run} begins where run ${this.runs.length} was due`);
    const writer = new RecordWriter(this.queue, { id: null }, this.columns.length);
    this.runs.push({ writer, firstTimeS: Number.NaN, lastTimeS: Number.NaN });
  }

  /** Takes rows `from` to `to` of a block for a run; the time is the first column. */
  rows(run: number, block: RowBlock, from: number, to: number): void {
    const { writer } = this.runs[run];
    if (writer.rowCount === 0) this.runs[run].firstTimeS = block.values[from];
    this.runs[run].lastTimeS = block.values[to - 1];
    if (!this.open.has(run)) {
      if (this.open.size >= maxOpenWriters) this.closeOldest();
      this.open.add(run);
    }
    writer.rows(block, from, to);
  }

  /** Stores what waits, where that is enough for a transaction; to be called between blocks of rows. */
  async settle(): Promise<void> {
    if (this.queue.isFull) await this.flush();
  }

  /** Stores what waits and gives the records out, in the order of their runs. */
  async finish(): Promise<StagedRecord[]> {
    for (const run of this.open) this.runs[run].writer.closeChunk();
    this.open.clear();
    await this.flush();
    return this.runs.map(({ writer, firstTimeS, lastTimeS }) => ({
      recordId: idOf(writer),
      rowCount: writer.rowCount,
      durationS: lastTimeS - firstTimeS,
    }));
  }

  /** Removes everything that was staged. */
  async drop(): Promise<void> {
    await removeStaged(
      this.store,
      this.runs.slice(0, this.made).map(({ writer }) => idOf(writer)),
    );
  }

  private closeOldest(): void {
    const oldest = this.open.values().next().value as number;
    this.open.delete(oldest);
    this.runs[oldest].writer.closeChunk();
  }

  /** The record rows of new runs first, all in one transaction, then the chunks. */
  private async flush(): Promise<void> {
    const { store, createdAt } = this;
    const fresh = this.runs.slice(this.made);
    if (fresh.length > 0) {
      const ids = await store.transaction(async (tx) =>
        inOrder(fresh, async () => insertStaged(tx, createdAt)),
      );
      fresh.forEach(({ writer }, i) => {
        writer.record.id = ids[i];
      });
      this.made = this.runs.length;
    }
    await this.queue.flush(store);
  }
}

function idOf(writer: RecordWriter): number {
  if (writer.record.id === null) throw new Error('A staged record was given out before it was made.');
  return writer.record.id;
}

/** Until it is sealed, a staged record names the process that fills it, so that a later start knows what is left over. */
const stagedMark = z.object({ stagedBy: z.number().optional(), host: z.string().optional() });
/** Whose process is on another machine and began longer ago than this is taken for left over. */
const longestStagingMs = 24 * 3600 * 1000;

async function insertStaged(store: Store, createdAt: string): Promise<number> {
  const { id } = await store.db
    .insertInto('Record')
    .values({
      testId: null,
      state: 'staged',
      columnsJson: JSON.stringify({ stagedBy: process.pid, host: hostname() }),
      createdAt,
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Gives a staged record to its test or stack log; inside the transaction that takes the file. */
export async function sealRecord(
  store: Store,
  record: StagedRecord,
  owner: { readonly testId: number } | { readonly stackLogId: number },
  columns: readonly StoredColumn[],
): Promise<void> {
  const { rowCount, durationS } = record;
  const { numUpdatedRows } = await store.db
    .updateTable('Record')
    .set({ ...owner, state: 'sealed', rowCount, durationS, columnsJson: JSON.stringify(columns) })
    .where('id', '=', record.recordId)
    .where('state', '=', 'staged')
    .executeTakeFirstOrThrow();
  if (numUpdatedRows !== 1n) throw new Error(`The staged record ${record.recordId} is gone.`);
}

async function removeStaged(store: Store, recordIds: readonly number[]): Promise<void> {
  for (const id of recordIds) while (await removeChunks(store, id));
  await store.db
    .deleteFrom('Record')
    .where('id', 'in', numbersIn(recordIds))
    .where('state', '=', 'staged')
    .execute();
}

/** Removes some chunks of a staged record; whether there may be more. */
async function removeChunks(store: Store, recordId: number): Promise<boolean> {
  return store.transaction(async ({ db }) => {
    const chunks = await db
      .selectFrom('RecordChunk as k')
      .innerJoin('Record as r', 'r.id', 'k.recordId')
      .select(['k.column', 'k.firstRow'])
      .where('k.recordId', '=', recordId)
      .where('r.state', '=', 'staged')
      .orderBy('k.column')
      .orderBy('k.firstRow')
      .limit(chunksPerRemoval)
      .execute();
    for (const { column, firstRow } of chunks) {
      await db
        .deleteFrom('RecordChunk')
        .where('recordId', '=', recordId)
        .where('column', '=', column)
        .where('firstRow', '=', firstRow)
        .execute();
    }
    return chunks.length === chunksPerRemoval;
  });
}

/**
 * Removes staged records whose process has ended. Call at start, before anything is imported.
 *
 * @returns how many there were
 */
export async function sweepStagedRecords(store: Store): Promise<number> {
  const staged = await store.db
    .selectFrom('Record')
    .select(['id', 'columnsJson', 'createdAt'])
    .where('state', '=', 'staged')
    .execute();
  const left = staged.filter(({ id, columnsJson, createdAt }) => {
    const { stagedBy, host } = parseStored(stagedMark, columnsJson, `mark of the staged record ${id}`);
    if (host !== undefined && host !== hostname())
      return Date.now() - Date.parse(createdAt) > longestStagingMs;
    return stagedBy === undefined || stagedBy === process.pid || !isProcessAlive(stagedBy);
  });
  if (left.length > 0) {
    await removeStaged(
      store,
      left.map(({ id }) => id),
    );
  }
  return left.length;
}
