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
 * that speaks for it now, in the order of the lot's columns.
 */
export async function listTemperatureReadings(
  store: Store,
  cellTypeId: number,
): Promise<TemperatureReading[]> {
  const rows = await store.all<TemperatureReading>(
    `SELECT m.id, m.cellId, m.quantity, m.durationS, m.direction, ${roundedSoc} AS socTwentieths,
       ${roundedTemperature} AS temperatureC, m.temperatureC AS measuredC, m.value, m.standardUncertainty,
       m.currentA
     FROM Lot l JOIN Cell c ON c.lotId = l.id JOIN Measurement m ON m.cellId = c.id
     WHERE l.cellTypeId = ? AND m.quantity IN ('resistance', 'rdc', 'r0', 'impedance-1khz')
       AND m.unit IN ('Ohm', 'Ω') AND m.temperatureC IS NOT NULL AND ${counts}
     ORDER BY m.cellId, ${latestFirst}`,
    cellTypeId,
  );
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
  const row = await store.get<{ id: number }>(
    `SELECT id FROM Fit WHERE cellTypeId = ? AND kind = 'temperature' AND supersededAt IS NULL
     ORDER BY id DESC LIMIT 1`,
    cellTypeId,
  );
  return row === undefined ? null : await findFit(store, row.id);
}
