import { type ColumnKey, formatColumnKey } from './columnKey.ts';
import { counts, latestFirst, roundedSoc, roundedTemperature } from './columnSql.ts';
import { findFit, type StoredFit } from './fits.ts';
import type { Store } from './store.ts';

/** A resistance of one cell at a stated temperature. */
export interface TemperatureReading extends ColumnKey {
  readonly id: number;
  readonly cellId: number;
  readonly value: number;
  readonly standardUncertainty: number | null;
  /** As measured; `temperatureC` is rounded to 5 °C as in the columns of a lot. */
  readonly measuredC: number;
  /** Positive on charge. */
  readonly currentA: number | null;
}

/**
 * Resistances of the cells of a type that state a temperature, by cell; of several of one cell in one column the one
 * that represents it now, in the order of the lot's columns.
 */
export async function listTemperatureReadings(
  store: Store,
  cellTypeId: number,
): Promise<TemperatureReading[]> {
  const rows = await store.db
    .selectFrom('Lot as l')
    .innerJoin('Cell as c', 'c.lotId', 'l.id')
    .innerJoin('Measurement as m', 'm.cellId', 'c.id')
    .select(['m.id', 'm.cellId', 'm.quantity', 'm.durationS', 'm.direction', 'm.value', 'm.currentA'])
    .select(['m.temperatureC as measuredC', 'm.standardUncertainty'])
    .select([roundedSoc.as('socTwentieths'), roundedTemperature.as('temperatureC')])
    .where('l.cellTypeId', '=', cellTypeId)
    .where('m.quantity', 'in', ['resistance', 'rdc', 'r0', 'impedance-1khz'])
    .where('m.unit', 'in', ['Ohm', 'Ω'])
    .where('m.temperatureC', 'is not', null)
    .where(counts)
    .$narrowType<{ value: number; measuredC: number }>()
    .orderBy('m.cellId')
    .orderBy(latestFirst)
    .execute();
  const seen = new Set<string>();
  return rows.filter((row) => {
    const place = `${row.cellId} ${formatColumnKey(row)}`;
    if (seen.has(place)) return false;
    seen.add(place);
    return true;
  });
}

/** The valid temperature fit of a cell type. */
export async function findTemperatureFit(store: Store, cellTypeId: number): Promise<StoredFit | null> {
  const row = await store.db
    .selectFrom('Fit')
    .select('id')
    .where('cellTypeId', '=', cellTypeId)
    .where('kind', '=', 'temperature')
    .where('supersededAt', 'is', null)
    .orderBy('id', 'desc')
    .executeTakeFirst();
  return row === undefined ? null : findFit(store, row.id);
}
