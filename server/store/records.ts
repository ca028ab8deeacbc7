import { z } from 'zod';
import type { RecordColumns } from '../../fitting/records/index.ts';
import { findRows, readColumn } from './chunks/recordReader.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** What a stored column is: `role` is what the evaluation knows it as, `name` and `unit` what people read. */
export const storedColumn = z.object({
  role: z.enum(['time', 'voltage', 'current', 'temperature', 'step', 'cycle', 'extra']),
  name: z.string(),
  unit: z.string(),
});
export type StoredColumn = Readonly<z.infer<typeof storedColumn>>;

/** The columns of a record, as they are stored with it. */
export function readColumns(columnsJson: string, recordId: number): StoredColumn[] {
  return parseStored(storedColumn.array(), columnsJson, `columns of record ${recordId}`);
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
  const row = await store.db
    .selectFrom('Record')
    .select(['id', 'state', 'rowCount', 'durationS', 'columnsJson'])
    .where('testId', '=', testId)
    .where('state', 'in', ['sealed', 'open'])
    .$narrowType<{ state: 'sealed' | 'open' }>()
    .executeTakeFirst();
  if (row === undefined) return null;
  const { columnsJson, ...record } = row;
  return { ...record, testId, columns: readColumns(columnsJson, record.id) };
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
  const records = await store.db
    .selectFrom('Cell as c')
    .innerJoin('Test as x', 'x.cellId', 'c.id')
    .innerJoin('Record as r', 'r.testId', 'x.id')
    .innerJoin('RecordChunk as k', 'k.recordId', 'r.id')
    .select(['r.id', 'x.cellId', 'r.columnsJson', 'k.column'])
    .select(({ fn }) => fn.min('k.min').as('leastV'))
    .where('c.lotId', '=', lotId)
    .where('x.state', '=', 'sealed')
    .where('r.state', '=', 'sealed')
    .groupBy(['r.id', 'x.cellId', 'k.column'])
    .execute();
  const lowest = new Map<number, number>();
  for (const { id, cellId, columnsJson, column, leastV } of records) {
    if (readColumns(columnsJson, id)[column]?.role !== 'voltage') continue;
    lowest.set(cellId, Math.min(lowest.get(cellId) ?? Number.POSITIVE_INFINITY, leastV));
  }
  return lowest;
}
