import type { ColumnKey } from './columnKey.ts';
import type { SqlValue } from './store.ts';

/** SQL condition on `m`: valid, with a value, and not left out as one that cannot be (a capacity of zero, say). */
export const counts = 'm.supersededAt IS NULL AND m.value IS NOT NULL AND m.excludedReason IS NULL';

/** SQL expressions on `m`: SOC in twentieths and temperature to 5 °C, as in a column's key. */
export const roundedSoc = 'CAST(ROUND(m.soc * 20) AS INTEGER)';
export const roundedTemperature = 'CAST(ROUND(m.temperatureC / 5) * 5 AS INTEGER)';

/** SQL conditions on `m` that pick a column's measurements, with their values. */
export function columnConditions(key: ColumnKey): { sql: string; values: SqlValue[] } {
  return {
    sql: `m.quantity = ? AND ${counts} AND m.durationS IS ? AND m.direction IS ?
      AND ${roundedSoc} IS ? AND ${roundedTemperature} IS ?`,
    values: [key.quantity, key.durationS, key.direction, key.socTwentieths, key.temperatureC],
  };
}

/**
 * Which of several measurements of one column speaks for the cell now: check-ups and cell tables before the running
 * values of a cycle table, whose conditions are those of the cycling; then the highest cycle; then the newest.
 */
export const latestFirst = '(m.testId IS NULL AND m.cycle IS NOT NULL), COALESCE(m.cycle, 0) DESC, m.id DESC';
