import type { CountedSoc, Page, QuantityValue } from '../contract/common.ts';
import {
  conditions,
  type Measurement,
  type MeasurementColumn,
  type QuantityName,
  quantityName,
} from '../contract/measurements.ts';
import { type ColumnKey, formatColumnKey, parseColumnKey } from './columnKey.ts';
import { counts, isOfColumn, latestFirst, roundedSoc, roundedTemperature } from './columnSql.ts';
import { numbersIn } from './differences.ts';
import { insertRows } from './insertRows.ts';
import { matchingIds, readPage } from './page.ts';
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

/** Stores measurements; to be called inside a transaction together with what they came from. */
export async function insertMeasurements(
  store: Store,
  rows: readonly NewMeasurement[],
  createdAt: string,
): Promise<void> {
  await insertRows(
    store,
    'Measurement',
    [...fields, 'operator', 'countedFromSoc', 'countedAh', 'countedRatedAh', 'createdAt'],
    rows.map(({ counted, ...row }) => ({
      ...row,
      operator: row.operator ?? null,
      countedFromSoc: counted?.fromSoc ?? null,
      countedAh: counted?.chargeAh ?? null,
      countedRatedAh: counted?.ratedCapacityAh ?? null,
      createdAt,
    })),
  );
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
}

/** Sets or lifts the mark that leaves a measurement out of everything that counts. */
export async function setExcludedReason(store: Store, id: number, reason: string | null): Promise<void> {
  await store.db.updateTable('Measurement').set({ excludedReason: reason }).where('id', '=', id).execute();
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

/** A state of charge that a record counted, with the measurement it belongs to. */
export interface CountedMeasurement extends CountedSoc {
  readonly id: number;
  readonly soc: number | null;
  readonly cycle: number | null;
}

/** The valid measurements of a cell whose state of charge was counted. */
export async function listCountedMeasurements(store: Store, cellId: number): Promise<CountedMeasurement[]> {
  const rows = await store.db
    .selectFrom('Measurement')
    .select(['id', 'soc', 'cycle', 'countedFromSoc', 'countedAh', 'countedRatedAh'])
    .where('cellId', '=', cellId)
    .where('supersededAt', 'is', null)
    .where('countedAh', 'is not', null)
    .execute();
  return rows.flatMap(({ countedFromSoc, countedAh, countedRatedAh, ...row }) =>
    countedFromSoc === null || countedAh === null
      ? []
      : [{ ...row, fromSoc: countedFromSoc, chargeAh: countedAh, ratedCapacityAh: countedRatedAh }],
  );
}

/** Changes the state of charge of a measurement. */
export async function setSoc(store: Store, id: number, soc: number | null): Promise<void> {
  await store.db.updateTable('Measurement').set({ soc }).where('id', '=', id).execute();
}

/** Of the cells that a file brought values of, those with a valid state of charge that was counted. */
export async function listCountedCellsOf(store: Store, fileId: number): Promise<number[]> {
  const testsOfFile = store.db.selectFrom('Test').select('id').where('sourceFileId', '=', fileId);
  const rows = await store.db
    .selectFrom('Measurement as m')
    .select('m.cellId')
    .distinct()
    .where('m.supersededAt', 'is', null)
    .where('m.countedAh', 'is not', null)
    .where(({ exists, selectFrom }) =>
      exists(
        selectFrom('Measurement as o')
          .select('o.id')
          .whereRef('o.cellId', '=', 'm.cellId')
          .where((o) => o.or([o('o.sourceFileId', '=', fileId), o('o.testId', 'in', testsOfFile)])),
      ),
    )
    .execute();
  return rows.map(({ cellId }) => cellId);
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
  const rows = await ofLot(store, lotId)
    .select(['m.quantity', 'm.durationS', 'm.direction'])
    .select(({ fn }) => [
      fn.min('m.unit').as('unit'),
      roundedSoc.as('socTwentieths'),
      roundedTemperature.as('temperatureC'),
      fn.min<string | null>('m.method').as('method'),
      fn.count<number>('m.cellId').distinct().as('cellCount'),
    ])
    .where(counts)
    .groupBy(['m.quantity', 'm.durationS', 'm.direction', roundedSoc, roundedTemperature])
    .orderBy('cellCount', 'desc')
    .orderBy('m.quantity')
    .orderBy('m.direction')
    .orderBy('m.durationS')
    .orderBy('socTwentieths')
    .execute();
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
  // Which current is the usual one is a question to the whole lot.
  const byRate = dependsOnRate.has(key.quantity);
  const narrowed = onlyCellIds !== null && !byRate;
  const rows = await ofLot(store, lotId)
    .select(['m.id', 'm.cellId', 'm.value', 'm.unit', 'm.standardUncertainty', 'm.reason'])
    .select(['m.temperatureC', 'm.soc', 'm.measuredAt', 'm.currentA'])
    .where(isOfColumn(key))
    .$if(narrowed, (found) => found.where('c.id', 'in', numbersIn(onlyCellIds ?? [])))
    .orderBy('m.cellId')
    .orderBy(latestFirst)
    .execute();
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
