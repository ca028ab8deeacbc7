import { inOrder } from '../inOrder.ts';
import { readColumn } from './chunks/recordReader.ts';
import { ChunkQueue, RecordWriter } from './chunks/recordWriter.ts';
import { blockOfValues } from './chunks/rowBlock.ts';
import type { StoredColumn } from './records.ts';
import type { SqlStore } from './store.ts';

/** A last chunk shorter than this is packed anew together with the samples that follow it. */
const mergedRows = 4096;

/** The record of an open or lately closed test. */
export interface LiveRecord {
  readonly recordId: number;
  readonly testId: number;
  readonly state: 'open' | 'sealed';
  readonly rowCount: number;
  readonly columns: readonly StoredColumn[];
  readonly lotId: number;
}

export async function findLiveRecord(store: SqlStore, testId: number): Promise<LiveRecord | null> {
  const row = await store.get<Omit<LiveRecord, 'columns'> & { columnsJson: string }>(
    `SELECT r.id AS recordId, r.testId, r.state, r.rowCount, r.columnsJson, c.lotId FROM Record r
     JOIN Test x ON x.id = r.testId JOIN Cell c ON c.id = x.cellId
     WHERE r.testId = ? AND r.state IN ('open', 'sealed') AND x.state IN ('open', 'sealed')`,
    testId,
  );
  if (row === undefined) return null;
  const { columnsJson, ...rest } = row;
  return { ...rest, columns: JSON.parse(columnsJson) as StoredColumn[] };
}

/** Makes an open test with an empty record; inside a transaction. */
export async function insertLiveTest(
  store: SqlStore,
  test: { cellId: number; kind: string; label: string; temperatureC: number | null; at: string },
  columns: readonly StoredColumn[],
): Promise<number> {
  const testId = (
    await store.run(
      `INSERT INTO Test (cellId, kind, state, label, temperatureC, startedAt, createdAt) VALUES (?, ?, 'open', ?, ?, ?, ?)`,
      test.cellId,
      test.kind,
      test.label,
      test.temperatureC,
      test.at,
      test.at,
    )
  ).id;
  await store.run(
    `INSERT INTO Record (testId, state, columnsJson, createdAt) VALUES (?, 'open', ?, ?)`,
    testId,
    JSON.stringify(columns),
    test.at,
  );
  return testId;
}

/** First and last time of a record, null where it is empty. */
export async function readTimeSpan(
  store: SqlStore,
  recordId: number,
): Promise<{ firstS: number; lastS: number } | null> {
  const row = await store.get<{ firstS: number | null; lastS: number | null }>(
    'SELECT MIN(min) AS firstS, MAX(max) AS lastS FROM RecordChunk WHERE recordId = ? AND "column" = 0',
    recordId,
  );
  return row === undefined || row.firstS === null || row.lastS === null
    ? null
    : { firstS: row.firstS, lastS: row.lastS };
}

/** Whether a batch with this key was stored. */
export async function hasLiveBatch(store: SqlStore, testId: number, key: string): Promise<boolean> {
  return (await store.get('SELECT 1 FROM LiveBatch WHERE testId = ? AND key = ?', testId, key)) !== undefined;
}

/** Appends samples to an open record and remembers their batch; inside a transaction. */
export async function appendSamples(
  store: SqlStore,
  record: LiveRecord,
  columns: readonly Float64Array[],
  batch: { key: string; at: string },
): Promise<void> {
  const { recordId, rowCount } = record;
  const added = columns[0].length;
  const tail = await store.get<{ firstRow: number; rowCount: number }>(
    'SELECT firstRow, rowCount FROM RecordChunk WHERE recordId = ? AND "column" = 0 ORDER BY firstRow DESC LIMIT 1',
    recordId,
  );
  let firstRow = rowCount;
  let values = columns;
  if (tail !== undefined && tail.rowCount < mergedRows) {
    firstRow = tail.firstRow;
    values = await inOrder(columns, async (column, k) => {
      const before = await readColumn(store, recordId, k, { start: firstRow, end: rowCount });
      const joined = new Float64Array(before.length + added);
      joined.set(before);
      joined.set(column, before.length);
      return joined;
    });
    await store.run('DELETE FROM RecordChunk WHERE recordId = ? AND firstRow = ?', recordId, firstRow);
  }
  const queue = new ChunkQueue();
  const writer = new RecordWriter(queue, { id: recordId }, columns.length, firstRow);
  writer.rows(blockOfValues(values), 0, values[0].length);
  writer.closeChunk();
  await queue.flush(store);
  const span = await readTimeSpan(store, recordId);
  await store.run(
    `UPDATE Record SET rowCount = rowCount + ?, durationS = ? WHERE id = ? AND state = 'open'`,
    added,
    span === null ? 0 : span.lastS - span.firstS,
    recordId,
  );
  await store.run(
    'INSERT INTO LiveBatch (testId, key, firstRow, rowCount, receivedAt) VALUES (?, ?, ?, ?, ?)',
    record.testId,
    batch.key,
    rowCount,
    added,
    batch.at,
  );
}

/** Closes an open test; false where it is closed already. */
export async function sealLiveTest(store: SqlStore, record: LiveRecord): Promise<boolean> {
  const { changes } = await store.run(
    `UPDATE Record SET state = 'sealed' WHERE id = ? AND state = 'open'`,
    record.recordId,
  );
  await store.run(`UPDATE Test SET state = 'sealed' WHERE id = ? AND state = 'open'`, record.testId);
  return changes === 1;
}
