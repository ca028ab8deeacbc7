import type { CountedSoc, Page, QuantityValue } from '../contract/common.ts';
import {
  conditions,
  type Measurement,
  type MeasurementColumn,
  type QuantityName,
  quantityName,
} from '../contract/measurements.ts';
import { type ColumnKey, formatColumnKey, parseColumnKey } from './columnKey.ts';
import { counts } from './columnSql.ts';
import { numbersIn } from './differences.ts';
import { insertRows } from './insertRows.ts';
import { matchingIds, readPage } from './page.ts';
import {
  dependsOnRate,
  findColumnId,
  listLotColumns,
  ONE_RATE,
  refreshPresentValuesOf,
  representativeFirst,
  usualCurrent,
} from './presentValues.ts';
import type { Store } from './store.ts';

/** What is stored of a measurement; identifiers and the instant are given by the store. */
export interface NewMeasurement extends Omit<Measurement, 'id' | 'createdAt' | 'supersededAt'> {
  /** Who, or which fixture, took the reading, for gauge studies; left out where that is not known. */
  readonly operator?: string | null;
  /** How the record counted the state of charge; left out or null where it is stated or unknown. */
  readonly counted?: CountedSoc | null;
}

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
] as const satisfies readonly (keyof Measurement)[];

const columns = ['id', ...fields, 'createdAt', 'supersededAt'] as const;

const storedFields = [
  ...fields,
  'operator',
  'countedFromSoc',
  'countedAh',
  'countedRatedAh',
  'createdAt',
] as const;

/** Stores measurements, which may represent their cells from now on; inside a transaction with what they came from. */
export async function insertMeasurements(
  store: Store,
  rows: readonly NewMeasurement[],
  createdAt: string,
): Promise<void> {
  await insertRows(
    store,
    'Measurement',
    storedFields,
    rows.map((row) => storedRow(row, createdAt)),
  );
  await refreshPresentValuesOf(store, rows);
}

/** Stores measurements under identifiers that follow one another; what represents their cells is found later. */
export async function insertMeasurementsFrom(
  store: Store,
  firstId: number,
  rows: readonly NewMeasurement[],
  createdAt: string,
): Promise<void> {
  await insertRows(
    store,
    'Measurement',
    ['id', ...storedFields],
    rows.map((row, i) => ({ id: firstId + i, ...storedRow(row, createdAt) })),
  );
}

/** Written out: of a table of many rows, a copy of each with other members costs more than storing it. */
function storedRow(row: NewMeasurement, createdAt: string) {
  const { counted } = row;
  return {
    cellId: row.cellId,
    quantity: row.quantity,
    value: row.value,
    unit: row.unit,
    standardUncertainty: row.standardUncertainty,
    reason: row.reason,
    soc: row.soc,
    temperatureC: row.temperatureC,
    direction: row.direction,
    durationS: row.durationS,
    currentA: row.currentA,
    cycle: row.cycle,
    efc: row.efc,
    method: row.method,
    excludedReason: row.excludedReason,
    measuredAt: row.measuredAt,
    testId: row.testId,
    fitId: row.fitId,
    sourceFileId: row.sourceFileId,
    sourceRow: row.sourceRow,
    operator: row.operator ?? null,
    countedFromSoc: counted?.fromSoc ?? null,
    countedAh: counted?.chargeAh ?? null,
    countedRatedAh: counted?.ratedCapacityAh ?? null,
    createdAt,
  };
}

/** Marks the valid measurements of one quantity of a cell that came from fits of a kind as superseded. */
export async function supersedeFitted(
  store: Store,
  cellId: number,
  quantity: QuantityName,
  kind: string,
  at: string,
): Promise<void> {
  await store.db
    .updateTable('Measurement')
    .set({ supersededAt: at })
    .where('cellId', '=', cellId)
    .where('quantity', '=', quantity)
    .where('supersededAt', 'is', null)
    .where('fitId', 'in', ({ selectFrom }) =>
      selectFrom('Fit').select('id').where('cellId', '=', cellId).where('kind', '=', kind),
    )
    .execute();
  await refreshPresentValuesOf(store, [{ cellId, quantity }]);
}

/** Sets or lifts the mark that leaves a measurement out of everything that counts; inside a transaction. */
export async function setExcludedReason(store: Store, id: number, reason: string | null): Promise<void> {
  const changed = await store.db
    .updateTable('Measurement')
    .set({ excludedReason: reason })
    .where('id', '=', id)
    .returning(['cellId', 'quantity'])
    .execute();
  await refreshPresentValuesOf(store, changed);
}

/** Cells of a lot with a value of this quantity that is marked as one that cannot be, or was left out by a person. */
export async function cellsWithExcluded(
  store: Store,
  lotId: number,
  quantity: QuantityName,
): Promise<Set<number>> {
  const rows = await store.db
    .selectFrom('Measurement as m')
    .innerJoin('Cell as c', 'c.id', 'm.cellId')
    .select('m.cellId')
    .distinct()
    .where('c.lotId', '=', lotId)
    .where('m.quantity', '=', quantity)
    .where('m.supersededAt', 'is', null)
    .where('m.excludedReason', 'is not', null)
    .where('m.excludedReason', 'not in', [...conditions])
    .execute();
  return new Set(rows.map(({ cellId }) => cellId));
}

/** Values of a lot that count, the newest of them, to tell what is usual in it. */
export async function listLotValues(
  store: Store,
  lotId: number,
): Promise<Pick<Measurement, 'quantity' | 'value' | 'durationS' | 'direction'>[]> {
  return store.db
    .selectFrom('Measurement as m')
    .innerJoin('Cell as c', 'c.id', 'm.cellId')
    .select(['m.quantity', 'm.value', 'm.durationS', 'm.direction'])
    .where('c.lotId', '=', lotId)
    .where(counts)
    .orderBy('m.id', 'desc')
    .limit(20_000)
    .execute();
}

export async function findMeasurement(store: Store, id: number): Promise<Measurement | null> {
  const row = await store.db
    .selectFrom('Measurement')
    .select(columns)
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

/** A page of a cell's measurements in the order they were made. */
export async function pageMeasurements(
  store: Store,
  cellId: number,
  query: { cursor?: string; limit: number; quantity?: QuantityName; includeSuperseded: boolean },
): Promise<Page<Measurement>> {
  const { quantity, includeSuperseded, cursor, limit } = query;
  return readPage<Measurement, Measurement>(store, {
    matching: matchingIds(store.db.selectFrom('Measurement').select('id'), { cellId, quantity }).$if(
      !includeSuperseded,
      (found) => found.where('supersededAt', 'is', null),
    ),
    rows: (ids) => store.db.selectFrom('Measurement').select(columns).where('id', 'in', ids).execute(),
    present: (row) => row,
    sort: 'id',
    cursor,
    limit,
  });
}

function validOfCell(store: Store, cellId: number) {
  return store.db
    .selectFrom('Measurement')
    .select(columns)
    .where('cellId', '=', cellId)
    .where('supersededAt', 'is', null);
}

/** All valid measurements of one quantity of one cell, oldest first: by cycle, then as stored. */
export async function listMeasurements(
  store: Store,
  cellId: number,
  quantity: QuantityName,
): Promise<Measurement[]> {
  return validOfCell(store, cellId)
    .where('quantity', '=', quantity)
    .orderBy('cycle', (order) => order.asc().nullsFirst())
    .orderBy('id')
    .execute();
}

/** All valid measurements of a cell. */
export async function listCellMeasurements(store: Store, cellId: number): Promise<Measurement[]> {
  return validOfCell(store, cellId).orderBy('id').execute();
}

/** The measurements of the cells of a lot, as `m`. */
function ofLot(store: Store, lotId: number) {
  return store.db
    .selectFrom('Cell as c')
    .innerJoin('Measurement as m', 'm.cellId', 'c.id')
    .where('c.lotId', '=', lotId);
}

/** Which columns of a lot can be compared, those that most cells have first. */
export async function listColumns(store: Store, lotId: number): Promise<MeasurementColumn[]> {
  const columns = await listLotColumns(store, lotId);
  return columns.sort(mostCellsFirst).map((column) => ({
    key: formatColumnKey(column),
    quantity: column.quantity,
    unit: column.unit,
    durationS: column.durationS,
    direction: column.direction,
    soc: column.socTwentieths === null ? null : column.socTwentieths / 20,
    temperatureC: column.temperatureC,
    method: column.method,
    cellCount: column.cellCount,
  }));
}

type Counted = ColumnKey & { readonly cellCount: number };

function mostCellsFirst(a: Counted, b: Counted): number {
  return (
    b.cellCount - a.cellCount ||
    compareTexts(a.quantity, b.quantity) ||
    compareTexts(a.direction ?? '', b.direction ?? '') ||
    (a.durationS ?? -1) - (b.durationS ?? -1) ||
    (a.socTwentieths ?? -1) - (b.socTwentieths ?? -1) ||
    (a.temperatureC ?? -1000) - (b.temperatureC ?? -1000)
  );
}

function compareTexts(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Of how many cells of a lot a quantity holds only under a condition that its record cannot tell, so that it is in no column. */
export async function listNotCompared(
  store: Store,
  lotId: number,
): Promise<{ quantity: QuantityName; durationS: number | null; reason: string; cellCount: number }[]> {
  return ofLot(store, lotId)
    .select(['m.quantity', 'm.durationS', 'm.excludedReason as reason'])
    .select(({ fn }) => fn.count<number>('m.cellId').distinct().as('cellCount'))
    .where('m.supersededAt', 'is', null)
    .where('m.value', 'is not', null)
    .where('m.excludedReason', 'in', [...conditions])
    .groupBy(['m.quantity', 'm.durationS', 'm.excludedReason'])
    .orderBy('m.quantity')
    .orderBy('m.durationS')
    .orderBy('m.excludedReason')
    .$narrowType<{ reason: string }>()
    .execute();
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
  const columnId = await findColumnId(store, lotId, key);
  if (columnId === null) return new Map();
  const byRate = dependsOnRate.has(key.quantity);
  const rows = await store.db
    .selectFrom('PresentValue as v')
    .innerJoin('Measurement as m', 'm.id', 'v.measurementId')
    .select(['m.id', 'm.cellId', 'm.value', 'm.unit', 'm.standardUncertainty', 'm.reason'])
    .select(['m.temperatureC', 'm.soc', 'm.measuredAt', 'm.currentA'])
    .where('v.columnId', '=', columnId)
    .$if(onlyCellIds !== null, (found) => found.where('v.cellId', 'in', numbersIn(onlyCellIds ?? [])))
    .$if(byRate, (found) => found.orderBy('v.cellId').orderBy(representativeFirst))
    .execute();
  const usualA = byRate ? await usualCurrent(store, columnId) : null;
  const values = new Map<number, ColumnValue>();
  const asUsual = new Set<number>();
  for (const { id, cellId, ...value } of rows) {
    const usual = usualA !== null && isAlike(value.currentA, usualA);
    if (values.has(cellId) && (!usual || asUsual.has(cellId))) continue;
    values.set(cellId, { ...value, measurementId: id });
    if (usual) asUsual.add(cellId);
  }
  return values;
}

function isAlike(currentA: number | null, usualA: number): boolean {
  if (currentA === null) return false;
  const amountA = Math.abs(currentA);
  return amountA <= ONE_RATE * usualA && amountA >= usualA / ONE_RATE;
}

/** The newest valid value of a quantity for each cell of a lot, whatever its condition. */
export async function listNewestOf(
  store: Store,
  lotId: number,
  quantity: QuantityName,
): Promise<Map<number, { value: number; standardUncertainty: number | null }>> {
  const rows = await ofLot(store, lotId)
    .select(['m.cellId', 'm.value', 'm.standardUncertainty'])
    .where('m.quantity', '=', quantity)
    .where(counts)
    .$narrowType<{ value: number }>()
    .orderBy('m.cellId')
    .orderBy('m.id')
    .execute();
  return new Map(rows.map(({ cellId, ...value }) => [cellId, value]));
}

/** A valid measurement that an evaluation of a test gave; `position` counts equal ones of a test. */
export interface EvaluatedMeasurement {
  readonly cellSerial: string;
  readonly testId: number;
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  readonly soc: number | null;
  readonly unit: string;
  readonly value: number | null;
  readonly position: number;
}

/** The valid measurements of the evaluated tests of a lot. */
export async function listEvaluatedMeasurements(
  store: Store,
  lotId: number,
): Promise<EvaluatedMeasurement[]> {
  return ofLot(store, lotId)
    .select(['c.serial as cellSerial', 'm.testId', 'm.quantity', 'm.durationS', 'm.direction', 'm.soc'])
    .select(['m.unit', 'm.value'])
    .select(({ fn }) =>
      fn
        .agg<number>('row_number')
        .over((over) =>
          over.partitionBy(['m.testId', 'm.quantity', 'm.durationS', 'm.direction']).orderBy('m.id'),
        )
        .as('position'),
    )
    .where('m.fitId', 'is not', null)
    .where('m.testId', 'is not', null)
    .where('m.supersededAt', 'is', null)
    .$narrowType<{ testId: number }>()
    .orderBy('m.id')
    .execute();
}
