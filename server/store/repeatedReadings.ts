import type { ColumnKey } from './columnKey.ts';
import { isOfColumn, latestFirst } from './columnSql.ts';
import { findColumnId } from './presentValues.ts';
import type { Store } from './store.ts';

/** One reading of a cell: of a test of its own, or of a row of a table that lists the cell again and again. */
export interface RepeatedReading {
  readonly cellId: number;
  readonly serial: string;
  readonly value: number;
  readonly unit: string;
  /** Who, or which fixture, took it; null where that was not stated. */
  readonly operator: string | null;
}

interface Row extends RepeatedReading {
  readonly testId: number | null;
  readonly sourceFileId: number | null;
  readonly cycle: number | null;
}

/**
 * The readings of one column, of the cells that have several, by cell and insertion, the newest first. Where the newest
 * of a cell is of a cell table that lists the cell several times, the rows of that table alone, because another table
 * may repeat or correct it; else one reading of each test. Only those at the cycle of the newest, so that ageing does
 * not count as scatter.
 */
export async function listRepeatedReadings(
  store: Store,
  lotId: number,
  key: ColumnKey,
): Promise<RepeatedReading[]> {
  const columnId = await findColumnId(store, lotId, key);
  if (columnId === null) return [];
  const several = store.db
    .selectFrom('PresentValue')
    .select('cellId')
    .where('columnId', '=', columnId)
    .groupBy('cellId')
    .having(({ fn }) => fn.sum('readings'), '>', 1);
  const rows = await store.db
    .selectFrom('Cell as c')
    .innerJoin('Measurement as m', 'm.cellId', 'c.id')
    .select([
      'm.cellId',
      'c.serial',
      'm.value',
      'm.unit',
      'm.testId',
      'm.sourceFileId',
      'm.cycle',
      'm.operator',
    ])
    .where('c.id', 'in', several)
    .where(isOfColumn(key))
    .$narrowType<{ value: number }>()
    .orderBy('c.serial')
    .orderBy('c.id')
    .orderBy(latestFirst)
    .execute();
  const byCell = new Map<number, Row[]>();
  for (const row of rows) byCell.set(row.cellId, [...(byCell.get(row.cellId) ?? []), row]);
  return [...byCell.values()].flatMap((own) => rowsOfOneTable(own) ?? onePerTest(own));
}

/** Null where the newest reading is not of a cell table that lists the cell more than once. */
function rowsOfOneTable(newestFirst: readonly Row[]): Row[] | null {
  const { testId, sourceFileId, cycle } = newestFirst[0];
  if (testId !== null || sourceFileId === null || cycle !== null) return null;
  const own = newestFirst.filter((row) => row.testId === null && row.sourceFileId === sourceFileId);
  return own.length > 1 ? own : null;
}

function onePerTest(newestFirst: readonly Row[]): Row[] {
  const tests = newestFirst.filter(({ testId }) => testId !== null);
  const seen = new Set<number | null>();
  return tests.filter(({ testId, cycle }) => {
    if (cycle !== tests[0].cycle || seen.has(testId)) return false;
    seen.add(testId);
    return true;
  });
}
