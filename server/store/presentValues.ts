import { type RawBuilder, type SqlBool, sql } from 'kysely';
import type { QuantityName } from '../contract/measurements.ts';
import type { ColumnKey } from './columnKey.ts';
import { counts, hasNeededValues, roundedSoc, roundedTemperature } from './columnSql.ts';
import { numbersIn } from './differences.ts';
import { noteIncomingChanges, pairedOnceShown } from './incomingFiles.ts';
import type { Store } from './store.ts';

// Which measurement represents a cell in each column of its lot. It follows from the measurements and is kept with
// them, so that a lot of thousands of cells is read without going through all that was ever measured.

/** What a column's key has where its measurements have none; no measurement has these values. */
const none = { durationS: -1, direction: '', socTwentieths: -1, temperatureC: -1000 } as const;

/** Quantities that cells commonly have at several rates; each rate has a value of its own. */
export const dependsOnRate: ReadonlySet<QuantityName> = new Set<QuantityName>([
  'capacity',
  'charge-capacity',
  'energy',
]);
/** Currents within this factor are one rate; as for unlike currents of a column. */
export const ONE_RATE = 1.2;
/** The rate of values that have none. */
export const noRate = -1000;

/** Columns of the measurement `m`, as `LotColumn` states them. */
const keyOfMeasurement: { readonly [Part in keyof Omit<ColumnKey, 'quantity'>]: RawBuilder<unknown> } = {
  durationS: sql`coalesce(m."durationS", ${sql.lit(none.durationS)})`,
  direction: sql`coalesce(m."direction", ${sql.lit(none.direction)})`,
  socTwentieths: sql`coalesce(${roundedSoc}, ${sql.lit(none.socTwentieths)})`,
  temperatureC: sql`coalesce(${roundedTemperature}, ${sql.lit(none.temperatureC)})`,
};
const parts = ['durationS', 'direction', 'socTwentieths', 'temperatureC'] as const;

/** Level of the current of the measurement `m`. */
const rate = sql<number>`case when m."quantity" in (${sql.join([...dependsOnRate].map((name) => sql.lit(name)))})
  and m."currentA" <> 0 then cast(floor(ln(abs(m."currentA")) / ln(${sql.lit(ONE_RATE)}) + 0.5) as integer)
  else ${sql.lit(noRate)} end`;

/** The identifier of a lot's column; null where no measurement of the lot ever belonged to it. */
export async function findColumnId(store: Store, lotId: number, key: ColumnKey): Promise<number | null> {
  const row = await store.db
    .selectFrom('LotColumn')
    .select('id')
    .where('lotId', '=', lotId)
    .where('quantity', '=', key.quantity)
    .where('durationS', '=', key.durationS ?? none.durationS)
    .where('direction', '=', key.direction ?? none.direction)
    .where('socTwentieths', '=', key.socTwentieths ?? none.socTwentieths)
    .where('temperatureC', '=', key.temperatureC ?? none.temperatureC)
    .executeTakeFirst();
  return row?.id ?? null;
}

/** The columns of a lot in which cells have values, with the number of those cells, and unit and method of the first. */
export async function listLotColumns(
  store: Store,
  lotId: number,
): Promise<(ColumnKey & { unit: string; method: string | null; cellCount: number })[]> {
  const values = sql`from "PresentValue" v where v."columnId" = k."id"`;
  const first = (column: 'unit' | 'method') => sql`(select m.${sql.ref(column)} from "PresentValue" v
    join "Measurement" m on m."id" = v."measurementId" where v."columnId" = k."id" order by v."cellId", v."rate" limit 1)`;
  const { rows } = await sql<
    Omit<ColumnKey, 'direction'> & {
      direction: string;
      unit: string;
      method: string | null;
      cellCount: number;
    }
  >`select k."quantity", k."durationS", k."direction", k."socTwentieths", k."temperatureC",
      ${first('unit')} as "unit", ${first('method')} as "method",
      (select count(distinct v."cellId") ${values}) as "cellCount"
    from "LotColumn" k where k."lotId" = ${lotId} and exists (select 1 ${values})`.execute(store.db);
  return rows.map(({ durationS, direction, socTwentieths, temperatureC, ...rest }) => ({
    ...rest,
    durationS: durationS === none.durationS ? null : durationS,
    direction: direction === none.direction ? null : (direction as ColumnKey['direction']),
    socTwentieths: socTwentieths === none.socTwentieths ? null : socTwentieths,
    temperatureC: temperatureC === none.temperatureC ? null : temperatureC,
  }));
}

/** The current, without sign, at which most cells of a column were measured; null where no value states one. */
export async function usualCurrent(store: Store, columnId: number): Promise<number | null> {
  const level = await store.db
    .selectFrom('PresentValue')
    .select(({ fn }) => [fn.countAll<number>().as('cells')])
    .select(sql<number>`sum(abs("currentA"))`.as('sumA'))
    .where('columnId', '=', columnId)
    .where('rate', '<>', noRate)
    .groupBy('rate')
    .orderBy('cells', 'desc')
    .orderBy('rate')
    .limit(1)
    .executeTakeFirst();
  return level === undefined ? null : level.sumA / level.cells;
}

/** Whether the present value `v` was measured at a current, or near enough. */
export function isAtCurrent(usualA: number): RawBuilder<SqlBool> {
  return sql<SqlBool>`(v."currentA" is not null and abs(v."currentA") <= ${ONE_RATE * usualA}
    and abs(v."currentA") >= ${usualA / ONE_RATE})`;
}

/** The value of a column for the cell `c`, as {@link columnValues} gives it, for sorting. */
export async function valueOfCell(
  store: Store,
  lotId: number,
  key: ColumnKey,
): Promise<RawBuilder<number | null>> {
  const columnId = await findColumnId(store, lotId, key);
  if (columnId === null) return sql<null>`null`;
  const own = sql`v."columnId" = ${columnId} and v."cellId" = c."id"`;
  if (!dependsOnRate.has(key.quantity)) return sql`(select v."value" from "PresentValue" v where ${own})`;
  const usualA = await usualCurrent(store, columnId);
  const usualFirst = usualA === null ? sql`` : sql`${isAtCurrent(usualA)} desc, `;
  return sql`(select v."value" from "PresentValue" v where ${own} order by ${usualFirst}${representativeFirst} limit 1)`;
}

/** Which of a cell's present values at several rates represents it: as {@link latestFirst}, of the present value `v`. */
export const representativeFirst = sql`v."running", v."cycle" desc, v."measurementId" desc`;

const isRunning = sql<number>`case when m."testId" is null and m."cycle" is not null then 1 else 0 end`;

/** Whose values are found again. */
interface Affected {
  readonly cellIds: readonly number[];
  readonly quantities: readonly QuantityName[];
}

/**
 * Finds again which measurements represent their cells; inside the transaction that stores, supersedes, leaves out or
 * lets hold again measurements of these cells and quantities.
 */
export async function refreshPresentValues(store: Store, affected: Affected): Promise<void> {
  if (affected.cellIds.length === 0 || affected.quantities.length === 0) return;
  const quantities = sql`(${sql.join(affected.quantities)})`;
  const cells = numbersIn(affected.cellIds);
  if (store.place.kind === 'sqlite') await noteIncomingChanges(store, affected.cellIds);
  await sql`delete from "PresentValue" where "cellId" in ${cells} and "columnId" in
    (select k."id" from "LotColumn" k where k."quantity" in ${quantities}
      and k."lotId" in (select c."lotId" from "Cell" c where c."id" in ${cells}))`.execute(store.db);
  await fill(store, sql`${counts} and m."cellId" in ${cells} and m."quantity" in ${quantities}`);
  if (needsPairingNoted(affected)) await noteWhatCanBePaired(store, sql`"id" in ${cells}`);
}

/** The measurements of a file that is stored in pieces, by their identifiers. */
interface OfIncoming {
  readonly sourceFileId: number;
  readonly firstMeasurementId: number;
  readonly lastMeasurementId: number;
}

/**
 * Finds which measurements of a file that nobody sees yet will represent cells that are seen, and puts them beside those
 * that do now. Of a cell where another one stays, but with a further reading beside it, it is noted that its values are
 * to be found again.
 */
export async function prepareIncomingValues(
  store: Store,
  affected: Affected,
  { sourceFileId, firstMeasurementId, lastMeasurementId }: OfIncoming,
): Promise<void> {
  const cells = numbersIn(affected.cellIds);
  const quantities = sql`(${sql.join(affected.quantities)})`;
  const which = sql`${counts} and m."cellId" in ${cells} and m."quantity" in ${quantities}`;
  const ofFile = sql`between ${firstMeasurementId} and ${lastMeasurementId}`;
  await fill(store, which, sql`and "id" ${ofFile}`);
  // In this order, by the keys of column and cell: the rows of the file alone are many.
  await sql`insert into "IncomingChange" ("sourceFileId", "cellId")
    select distinct ${sql.lit(sourceFileId)}, v."cellId" from "LotColumn" k
    cross join "PresentValue" v on v."columnId" = k."id" and v."cellId" in ${cells}
    cross join "Measurement" m on m."cellId" = v."cellId" and m."quantity" = k."quantity" and m."supersededAt" is null
      and m."cycle" = v."cycle"
    where k."quantity" in ${quantities} and k."lotId" in (select c."lotId" from "Cell" c where c."id" in ${cells})
      and v."running" = 0 and +v."measurementId" not ${ofFile}
      and +m."id" ${ofFile} and m."testId" is null and ${counts} on conflict do nothing`.execute(store.db);
  if (needsPairingNoted(affected))
    await sql`update "Cell" as c set "canBePaired" = ${sql.lit(pairedOnceShown)}
      where "id" in ${cells} and c."canBePaired" = false and ${hasNeededValues}`.execute(store.db);
}

/** The cells and quantities of some measurements. */
export async function refreshPresentValuesOf(
  store: Store,
  measurements: readonly { readonly cellId: number; readonly quantity: QuantityName }[],
): Promise<void> {
  await refreshPresentValues(store, {
    cellIds: [...new Set(measurements.map(({ cellId }) => cellId))],
    quantities: [...new Set(measurements.map(({ quantity }) => quantity))],
  });
}

function needsPairingNoted({ quantities }: Affected): boolean {
  return quantities.includes('capacity') || quantities.includes('resistance');
}

/** Stores which of some measurements represent their cells. @param stored which of those that do are stored; else all */
async function fill(store: Store, which: RawBuilder<unknown>, stored = sql``): Promise<void> {
  const key = sql.join(parts.map((part) => keyOfMeasurement[part]));
  const sameKey = sql.join(
    parts.map((part) => sql`k.${sql.ref(part)} = ${keyOfMeasurement[part]}`),
    sql` and `,
  );
  const ofColumn = sql`k."lotId" = c."lotId" and k."quantity" = m."quantity" and ${sameKey}`;
  const measurements = sql`"Measurement" m join "Cell" c on c."id" = m."cellId"`;
  await sql`insert into "LotColumn" ("lotId", "quantity", ${sql.join(parts.map((part) => sql.ref(part)))})
    select distinct c."lotId", m."quantity", ${key} from ${measurements}
    where ${which} and not exists (select 1 from "LotColumn" k where ${ofColumn})
    on conflict do nothing`.execute(store.db);
  await sql`insert into "PresentValue" ("measurementId", "columnId", "cellId", "rate", "value", "currentA", "running", "cycle", "readings")
    select "id", "columnId", "cellId", "rate", "value", "currentA", "running", "cycle", "readings" from (
      select r.*, row_number() over (partition by r."columnId", r."cellId", r."rate" order by r."running", r."cycle" desc, r."id" desc) as "place",
        count(*) over (partition by r."columnId", r."cellId", r."rate", r."cycle") as "readings"
      from (select m."id", m."cellId", m."value", m."currentA", ${isRunning} as "running", coalesce(m."cycle", 0) as "cycle",
          k."id" as "columnId", ${rate} as "rate"
        from ${measurements} join "LotColumn" k on ${ofColumn} where ${which}) r) ranked
    where "place" = 1 ${stored}`.execute(store.db);
}

async function noteWhatCanBePaired(store: Store, which: RawBuilder<unknown>): Promise<void> {
  await sql`update "Cell" as c set "canBePaired" = ${hasNeededValues}
    where ${which} and c."canBePaired" <> ${hasNeededValues}`.execute(store.db);
}
