import { type RawBuilder, type SqlBool, sql } from 'kysely';
import type { QuantityName } from '../contract/measurements.ts';
import type { ColumnKey } from './columnKey.ts';

// Conditions and values on a measurement that the query calls `m`.

/** Valid, with a value, and not left out as one that cannot be (a capacity of zero, say). */
export const counts: RawBuilder<SqlBool> = sql<SqlBool>`(m."supersededAt" is null and m."value" is not null
  and m."excludedReason" is null)`;

const has = (quantity: QuantityName) => sql<SqlBool>`exists (select 1 from "Measurement" m
  where m."cellId" = c."id" and m."quantity" = ${sql.lit(quantity)} and ${counts})`;

/** Whether the cell `c` has what pairing needs: a capacity and a resistance. */
export const hasNeededValues: RawBuilder<SqlBool> = sql<SqlBool>`(${has('capacity')} and ${has('resistance')})`;

/** SOC in twentieths and temperature to 5 °C, as in a column's key. */
export const roundedSoc = sql<number | null>`cast(floor(m."soc" * 20 + 0.5) as integer)`;
export const roundedTemperature = sql<number | null>`cast(floor(m."temperatureC" / 5 + 0.5) * 5 as integer)`;

/** Whether the measurement counts and belongs to a column. */
export function isOfColumn(key: ColumnKey): RawBuilder<SqlBool> {
  return sql<SqlBool>`(m."quantity" = ${key.quantity} and ${counts}
    and m."durationS" is not distinct from ${key.durationS} and m."direction" is not distinct from ${key.direction}
    and ${roundedSoc} is not distinct from ${key.socTwentieths}
    and ${roundedTemperature} is not distinct from ${key.temperatureC})`;
}

/**
 * Which of several measurements of one column represents the cell now: check-ups and cell tables before the running
 * values of a cycle table, whose conditions are those of the cycling; then the highest cycle; then the newest.
 */
export const latestFirst = sql`(m."testId" is null and m."cycle" is not null), coalesce(m."cycle", 0) desc, m."id" desc`;
