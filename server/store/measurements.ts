import type { Page, QuantityValue } from '../contract/common.ts';
import {
  type Measurement,
  type MeasurementColumn,
  type QuantityName,
  quantityName,
} from '../contract/measurements.ts';
import { type ColumnKey, formatColumnKey, parseColumnKey } from './columnKey.ts';
import { columnConditions, counts, latestFirst, roundedSoc, roundedTemperature } from './columnSql.ts';
import { readPage } from './page.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';

/** What is stored of a measurement; identifiers and the instant are given by the store. */
export type NewMeasurement = Omit<Measurement, 'id' | 'createdAt' | 'supersededAt'>;

const fields = [
  'cellId',
  'quantity',
  'value',
  'unit',
  'standardUncertainty',
  'reason',
  'soc',
  'temperatureC',
  'direction',
  'durationS',
  'currentA',
  'cycle',
  'efc',
  'method',
  'excludedReason',
  'measuredAt',
  'testId',
  'fitId',
  'sourceFileId',
  'sourceRow',
] as const satisfies readonly (keyof NewMeasurement)[];

const columns = `m.id, ${fields.map((field) => `m.${field}`).join(', ')}, m.createdAt, m.supersededAt`;
const insert = `INSERT INTO Measurement (${fields.join(', ')}, createdAt) VALUES (${fields.map(() => '?').join(', ')}, ?)`;

/** Stores measurements; to be called inside a transaction together with what they came from. */
export async function insertMeasurements(
  store: SqlStore,
  rows: readonly NewMeasurement[],
  createdAt: string,
): Promise<void> {
  for (const row of rows) await store.run(insert, ...fields.map((field): SqlValue => row[field]), createdAt);
}

/** Marks the valid measurements of one quantity of a cell that came from fits of a kind as superseded. */
export async function supersedeFitted(
  store: SqlStore,
  cellId: number,
  quantity: QuantityName,
  kind: string,
  at: string,
): Promise<void> {
  await store.run(
    `UPDATE Measurement SET supersededAt = ? WHERE cellId = ? AND quantity = ? AND supersededAt IS NULL
       AND fitId IN (SELECT id FROM Fit WHERE cellId = ? AND kind = ?)`,
    at,
    cellId,
    quantity,
    cellId,
    kind,
  );
}

/** Sets or lifts the mark that leaves a measurement out of everything that counts. */
export async function setExcludedReason(store: Store, id: number, reason: string | null): Promise<void> {
  await store.run('UPDATE Measurement SET excludedReason = ? WHERE id = ?', reason, id);
}

/** Cells of a lot with a value of this quantity that is marked as one that cannot be, or was left out by a person. */
export async function cellsWithExcluded(
  store: Store,
  lotId: number,
  quantity: QuantityName,
): Promise<Set<number>> {
  const rows = await store.all<{ cellId: number }>(
    `SELECT DISTINCT m.cellId FROM Measurement m JOIN Cell c ON c.id = m.cellId
     WHERE c.lotId = ? AND m.quantity = ? AND m.supersededAt IS NULL AND m.excludedReason IS NOT NULL`,
    lotId,
    quantity,
  );
  return new Set(rows.map(({ cellId }) => cellId));
}

/** Values of a lot that count, the newest of them, to tell what is usual in it. */
export async function listLotValues(
  store: Store,
  lotId: number,
): Promise<Pick<Measurement, 'quantity' | 'value' | 'durationS' | 'direction'>[]> {
  return store.all(
    `SELECT m.quantity, m.value, m.durationS, m.direction FROM Measurement m JOIN Cell c ON c.id = m.cellId
     WHERE c.lotId = ? AND ${counts} ORDER BY m.id DESC LIMIT 20000`,
    lotId,
  );
}

export async function findMeasurement(store: Store, id: number): Promise<Measurement | null> {
  return (await store.get<Measurement>(`SELECT ${columns} FROM Measurement m WHERE m.id = ?`, id)) ?? null;
}

/** A page of a cell's measurements in the order they were made. */
export async function pageMeasurements(
  store: Store,
  cellId: number,
  query: { cursor?: string; limit: number; quantity?: QuantityName; includeSuperseded: boolean },
): Promise<Page<Measurement>> {
  const where = ['m.cellId = ?'];
  const values: SqlValue[] = [cellId];
  if (query.quantity !== undefined) {
    where.push('m.quantity = ?');
    values.push(query.quantity);
  }
  if (!query.includeSuperseded) where.push('m.supersededAt IS NULL');
  return readPage<Measurement, Measurement>(
    store,
    {
      select: columns,
      from: 'Measurement m',
      where,
      values,
      idColumn: 'm.id',
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => row,
  );
}

/** All valid measurements of one quantity of one cell, oldest first: by cycle, then as stored. */
export async function listMeasurements(
  store: Store,
  cellId: number,
  quantity: QuantityName,
): Promise<Measurement[]> {
  return store.all<Measurement>(
    `SELECT ${columns} FROM Measurement m WHERE m.cellId = ? AND m.quantity = ? AND m.supersededAt IS NULL
     ORDER BY m.cycle, m.id`,
    cellId,
    quantity,
  );
}

/** All valid measurements of a cell. */
export async function listCellMeasurements(store: Store, cellId: number): Promise<Measurement[]> {
  return store.all<Measurement>(
    `SELECT ${columns} FROM Measurement m WHERE m.cellId = ? AND m.supersededAt IS NULL ORDER BY m.id`,
    cellId,
  );
}

/** Which columns of a lot can be compared, those that most cells have first. */
export async function listColumns(store: Store, lotId: number): Promise<MeasurementColumn[]> {
  const rows = await store.all<{
    quantity: QuantityName;
    unit: string;
    durationS: number | null;
    direction: 'charge' | 'discharge' | null;
    socTwentieths: number | null;
    temperatureC: number | null;
    method: string | null;
    cellCount: number;
  }>(
    `SELECT m.quantity, MIN(m.unit) AS unit, m.durationS, m.direction, ${roundedSoc} AS socTwentieths,
       ${roundedTemperature} AS temperatureC, MIN(m.method) AS method, COUNT(DISTINCT m.cellId) AS cellCount
     FROM Measurement m JOIN Cell c ON c.id = m.cellId
     WHERE c.lotId = ? AND ${counts}
     GROUP BY m.quantity, m.durationS, m.direction, socTwentieths, 6
     ORDER BY cellCount DESC, m.quantity, m.direction, m.durationS, socTwentieths`,
    lotId,
  );
  return rows.map((row) => ({
    key: formatColumnKey(row),
    quantity: row.quantity,
    unit: row.unit,
    durationS: row.durationS,
    direction: row.direction,
    soc: row.socTwentieths === null ? null : row.socTwentieths / 20,
    temperatureC: row.temperatureC,
    method: row.method,
    cellCount: row.cellCount,
  }));
}

/** The SQL expression (on cell `c`) of a column's present value. */
export function columnValueSql(key: ColumnKey): { sql: string; values: SqlValue[] } {
  const picked = columnConditions(key);
  return {
    sql: `(SELECT m.value FROM Measurement m WHERE m.cellId = c.id AND ${picked.sql} ORDER BY ${latestFirst} LIMIT 1)`,
    values: picked.values,
  };
}

/** Reads a column's key; null for a text that is none. */
export function readColumnKey(text: string): ColumnKey | null {
  return parseColumnKey(text, quantityName.options);
}

/** The value of a column for one cell, with the measurement it is and the condition it was measured at. */
export interface ColumnValue extends QuantityValue {
  readonly measurementId: number;
  readonly temperatureC: number | null;
  readonly soc: number | null;
  readonly measuredAt: string | null;
  /** Positive on charge. */
  readonly currentA: number | null;
}

/**
 * The present values of one column by the cell's identifier: for all cells of a lot, or only for the given ones. Of a
 * capacity or energy that cells have at several rates, the one at the rate that most cells of the lot have.
 */
export async function columnValues(
  store: Store,
  lotId: number,
  key: ColumnKey,
  onlyCellIds: readonly number[] | null = null,
): Promise<Map<number, ColumnValue>> {
  const picked = columnConditions(key);
  // Which current is the usual one is a question to the whole lot.
  const byRate = dependsOnRate.has(key.quantity);
  const narrowed = onlyCellIds !== null && !byRate;
  const rows = await store.all<{
    id: number;
    cellId: number;
    value: number;
    unit: string;
    standardUncertainty: number | null;
    reason: string | null;
    temperatureC: number | null;
    soc: number | null;
    measuredAt: string | null;
    currentA: number | null;
  }>(
    `SELECT m.id, m.cellId, m.value, m.unit, m.standardUncertainty, m.reason, m.temperatureC, m.soc, m.measuredAt,
            m.currentA
     FROM Cell c JOIN Measurement m ON m.cellId = c.id WHERE c.lotId = ? AND ${picked.sql}
     ${narrowed ? 'AND c.id IN (SELECT value FROM json_each(?))' : ''} ORDER BY m.cellId, ${latestFirst}`,
    lotId,
    ...picked.values,
    ...(narrowed ? [JSON.stringify(onlyCellIds)] : []),
  );
  const usualA = byRate ? usualCurrent(rows) : null;
  const values = new Map<number, ColumnValue>();
  const asUsual = new Set<number>();
  const wanted = onlyCellIds === null || narrowed ? null : new Set(onlyCellIds);
  for (const { id, cellId, ...value } of rows) {
    if (wanted !== null && !wanted.has(cellId)) continue;
    const usual = usualA !== null && isAlike(value.currentA, usualA);
    if (values.has(cellId) && (!usual || asUsual.has(cellId))) continue;
    values.set(cellId, { ...value, measurementId: id });
    if (usual) asUsual.add(cellId);
  }
  return values;
}

/** Quantities that cells commonly have at several rates. */
const dependsOnRate: ReadonlySet<QuantityName> = new Set<QuantityName>([
  'capacity',
  'charge-capacity',
  'energy',
]);
/** Currents within this factor are one rate; as for unlike currents of a column. */
const ONE_RATE = 1.2;

function isAlike(currentA: number | null, usualA: number): boolean {
  if (currentA === null) return false;
  const amountA = Math.abs(currentA);
  return amountA <= ONE_RATE * usualA && usualA <= ONE_RATE * amountA;
}

/** The current, without sign, at which most cells were measured; null where no row states one. */
function usualCurrent(rows: readonly { cellId: number; currentA: number | null }[]): number | null {
  const levels = new Map<number, { cells: Set<number>; sumA: number; count: number }>();
  for (const { cellId, currentA } of rows) {
    if (currentA === null || currentA === 0) continue;
    const amountA = Math.abs(currentA);
    const place = Math.round(Math.log(amountA) / Math.log(ONE_RATE));
    const level = levels.get(place) ?? { cells: new Set<number>(), sumA: 0, count: 0 };
    level.cells.add(cellId);
    level.sumA += amountA;
    level.count++;
    levels.set(place, level);
  }
  let best: { cells: Set<number>; sumA: number; count: number } | null = null;
  for (const level of levels.values()) if (best === null || level.cells.size > best.cells.size) best = level;
  return best === null ? null : best.sumA / best.count;
}

/** The newest valid value of a quantity for each cell of a lot, whatever its condition. */
export async function listNewestOf(
  store: Store,
  lotId: number,
  quantity: QuantityName,
): Promise<Map<number, { value: number; standardUncertainty: number | null }>> {
  const rows = await store.all<{ cellId: number; value: number; standardUncertainty: number | null }>(
    `SELECT m.cellId, m.value, m.standardUncertainty FROM Cell c JOIN Measurement m ON m.cellId = c.id
     WHERE c.lotId = ? AND m.quantity = ? AND ${counts} ORDER BY m.cellId, m.id`,
    lotId,
    quantity,
  );
  return new Map(rows.map(({ cellId, ...value }) => [cellId, value]));
}

/** A valid measurement that an evaluation of a test gave; `position` counts equal ones of a test. */
export interface EvaluatedMeasurement {
  readonly cellSerial: string;
  readonly testId: number;
  readonly quantity: string;
  readonly durationS: number | null;
  readonly direction: string | null;
  readonly soc: number | null;
  readonly unit: string;
  readonly value: number | null;
  readonly position: number;
}

/** The valid measurements of the evaluated tests of a lot. */
export async function listEvaluatedMeasurements(
  store: SqlStore,
  lotId: number,
): Promise<EvaluatedMeasurement[]> {
  return store.all<EvaluatedMeasurement>(
    `SELECT c.serial AS cellSerial, m.testId, m.quantity, m.durationS, m.direction, m.soc, m.unit, m.value,
       ROW_NUMBER() OVER (PARTITION BY m.testId, m.quantity, m.durationS, m.direction ORDER BY m.id) AS position
     FROM Measurement m JOIN Cell c ON c.id = m.cellId
     WHERE c.lotId = ? AND m.fitId IS NOT NULL AND m.testId IS NOT NULL AND m.supersededAt IS NULL ORDER BY m.id`,
    lotId,
  );
}
