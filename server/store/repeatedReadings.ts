import type { ColumnKey } from './columnKey.ts';
import { columnConditions, latestFirst } from './columnSql.ts';
import type { Store } from './store.ts';

/** One reading of a cell, of a test of its own. */
export interface RepeatedReading {
  readonly cellId: number;
  readonly serial: string;
  readonly value: number;
  readonly unit: string;
}

/**
 * The readings of one column by cell and test, the newest first: of each test the one that speaks for it, and of each
 * cell only those at the cycle of its newest, so that ageing does not count as scatter.
 */
export function listRepeatedReadings(store: Store, lotId: number, key: ColumnKey): RepeatedReading[] {
  const picked = columnConditions(key);
  const rows = store.all<RepeatedReading & { testId: number; cycle: number | null }>(
    `SELECT m.cellId, c.serial, m.value, m.unit, m.testId, m.cycle
     FROM Cell c JOIN Measurement m ON m.cellId = c.id
     WHERE c.lotId = ? AND m.testId IS NOT NULL AND ${picked.sql} ORDER BY c.serial, c.id, ${latestFirst}`,
    lotId,
    ...picked.values,
  );
  const seen = new Set<number>();
  const present = new Map<number, number | null>();
  return rows.filter(({ cellId, testId, cycle }) => {
    if (!present.has(cellId)) present.set(cellId, cycle);
    if (present.get(cellId) !== cycle || seen.has(testId)) return false;
    seen.add(testId);
    return true;
  });
}
