import type { RecordColumns } from '../../fitting/records/record.ts';
import { findRows, readColumn } from './chunks/recordReader.ts';
import type { Store } from './store.ts';

/** What a stored column is: `role` is what the evaluation knows it as, `name` and `unit` what people read. */
export interface StoredColumn {
  readonly role: 'time' | 'voltage' | 'current' | 'temperature' | 'step' | 'cycle' | 'extra';
  readonly name: string;
  readonly unit: string;
}

/** A readable record: sealed, or open and still growing. `columns` is in storage order. */
export interface StoredRecord {
  readonly id: number;
  readonly testId: number;
  readonly state: 'open' | 'sealed';
  readonly rowCount: number;
  readonly durationS: number;
  readonly columns: readonly StoredColumn[];
}

export async function findRecord(store: Store, testId: number): Promise<StoredRecord | null> {
  const row = await store.get<Omit<StoredRecord, 'columns'> & { columnsJson: string }>(
    `SELECT id, testId, state, rowCount, durationS, columnsJson FROM Record
     WHERE testId = ? AND state IN ('sealed', 'open')`,
    testId,
  );
  if (!row) return null;
  const { columnsJson, ...record } = row;
  return { ...record, columns: JSON.parse(columnsJson) as StoredColumn[] };
}

/** Reads one column of a record between two rows, bit for bit; null where the record has no such column. */
export async function readRecordColumn(
  store: Store,
  record: StoredRecord,
  role: StoredColumn['role'],
  start = 0,
  end = record.rowCount,
): Promise<Float64Array | null> {
  const place = record.columns.findIndex((column) => column.role === role);
  return place < 0 ? null : await readColumn(store, record.id, place, { start, end });
}

/** Reads any column by its place. */
export async function readRecordColumnAt(
  store: Store,
  record: StoredRecord,
  place: number,
  start: number,
  end: number,
): Promise<Float64Array> {
  return readColumn(store, record.id, place, { start, end });
}

/** Rows between two times, one more on either side. */
export async function findRecordRows(
  store: Store,
  record: StoredRecord,
  fromS: number,
  toS: number,
): Promise<{ start: number; end: number }> {
  const place = record.columns.findIndex((column) => column.role === 'time');
  return findRows(store, record.id, place, fromS, toS);
}

/** The whole record as the evaluations take it. */
export async function readRecord(store: Store, record: StoredRecord): Promise<RecordColumns> {
  const need = async (role: 'time' | 'voltage' | 'current'): Promise<Float64Array> => {
    const values = await readRecordColumn(store, record, role);
    if (!values) throw new Error(`Record ${record.id} has no column for ${role}.`);
    return values;
  };
  const temperatureC = await readRecordColumn(store, record, 'temperature');
  const step = await readRecordColumn(store, record, 'step');
  return {
    timeS: await need('time'),
    voltageV: await need('voltage'),
    currentA: await need('current'),
    ...(temperatureC?.every(Number.isFinite) ? { temperatureC } : {}),
    ...(step?.every(Number.isFinite) ? { step } : {}),
  };
}

/** The lowest voltage that the records of each cell of a lot ever show, from the chunks' own least values. */
export async function listLowestVoltages(store: Store, lotId: number): Promise<Map<number, number>> {
  const rows = await store.all<{ cellId: number; lowestV: number }>(
    `SELECT x.cellId, MIN(k.min) AS lowestV
     FROM Cell c JOIN Test x ON x.cellId = c.id AND x.state = 'sealed' JOIN Record r ON r.testId = x.id AND r.state = 'sealed'
       JOIN json_each(r.columnsJson) j ON json_extract(j.value, '$.role') = 'voltage'
       JOIN RecordChunk k ON k.recordId = r.id AND k."column" = j.key
     WHERE c.lotId = ? GROUP BY x.cellId`,
    lotId,
  );
  return new Map(rows.map((row) => [row.cellId, row.lowestV]));
}
