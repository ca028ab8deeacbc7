import type { Context } from '../../context.ts';
import type { CellQuery, CellRow } from '../../contract/cells.ts';
import type { Page } from '../../contract/common.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { pageCellRows } from '../../store/cells.ts';
import type { ColumnKey } from '../../store/columnKey.ts';
import { findLotHead } from '../../store/lots.ts';
import { readColumnKey as keyOf } from '../../store/measurements.ts';

/** Reads the comma-separated keys of columns in a query. */
export function readColumnKeys(field: string, text: string | undefined): { text: string; key: ColumnKey }[] {
  return (text ?? '')
    .split(',')
    .map((part) => part.trim())
    .filter((part) => part !== '')
    .map((part) => ({ text: part, key: readColumnKey(field, part) }));
}

/**
 * Reads the key of a column.
 *
 * @throws Refusal `invalid-request` with the field for a text that is none
 */
export function readColumnKey(field: string, text: string): ColumnKey {
  const key = keyOf(text);
  if (!key) {
    throw new Refusal('invalid-request', `${text} is not the key of a column.`, [
      fieldError(
        field,
        text,
        'is not the key of a column',
        'a key from the list of columns, e.g. resistance/10s/discharge/soc50/25C',
      ),
    ]);
  }
  return key;
}

/** A page of a lot's cells with the asked columns. */
export async function readLotCells(
  context: Context,
  lotId: number,
  query: CellQuery,
): Promise<Page<CellRow>> {
  if (!(await findLotHead(context.store, lotId))) throw notFound('lot', lotId);
  const descending = query.sort.startsWith('-');
  const sort = descending ? query.sort.slice(1) : query.sort;
  return pageCellRows(context.store, lotId, {
    cursor: query.cursor,
    limit: query.limit,
    search: query.search,
    state: query.state,
    sort: sort === 'serial' || sort === 'state' || sort === 'tests' ? sort : readColumnKey('sort', sort),
    descending,
    columns: readColumnKeys('columns', query.columns),
  });
}
