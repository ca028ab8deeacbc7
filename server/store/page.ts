import type { Page } from '../contract/common.ts';
import { fieldError, Refusal } from '../errors.ts';
import type { SqlValue, Store } from './store.ts';

/** A list to be paged: rows come in the order of `sortBy`, then of the identifier. */
export interface PagedList {
  /** What is selected; must contain `idColumn AS id`. */
  readonly select: string;
  readonly from: string;
  readonly where: readonly string[];
  readonly values: readonly SqlValue[];
  readonly idColumn: string;
  /** SQL expression to sort by, with the values it needs; by the identifier where left out. */
  readonly sortBy?: { readonly sql: string; readonly values: readonly SqlValue[] };
  readonly descending?: boolean;
  readonly cursor: string | undefined;
  readonly limit: number;
}

type Position = [sort: string | number | null, id: number];

function readCursor(cursor: string): Position {
  try {
    const parsed: unknown = JSON.parse(Buffer.from(cursor, 'base64url').toString('utf8'));
    if (Array.isArray(parsed) && parsed.length === 2 && Number.isInteger(parsed[1])) {
      const sort: unknown = parsed[0];
      if (sort === null || typeof sort === 'string' || typeof sort === 'number')
        return [sort, Number(parsed[1])];
    }
  } catch {
    // Falls through to the refusal below: a cursor that is no JSON is as wrong as one of another shape.
  }
  throw new Refusal('invalid-request', 'The cursor is not one that this service gave out.', [
    fieldError('cursor', cursor, 'cannot be read', 'the nextCursor of the page before'),
  ]);
}

/**
 * One page of a list by its cursor, with the number of all matching rows. Missing sort values come last in either
 * direction. Rows that are added or removed between two pages neither repeat nor hide others.
 */
export function readPage<Row extends { id: number }, Item>(
  store: Store,
  list: PagedList,
  present: (row: Row) => Item,
): Page<Item> {
  const sort = list.sortBy ?? { sql: list.idColumn, values: [] };
  const where = [...list.where];
  const values: SqlValue[] = [];
  const after = list.descending ? '<' : '>';
  if (list.cursor !== undefined) {
    const [value, id] = readCursor(list.cursor);
    if (value === null) {
      where.push('(sortValue IS NULL AND id > ?)');
      values.push(id);
    } else {
      where.push(`(sortValue ${after} ? OR (sortValue = ? AND id > ?) OR sortValue IS NULL)`);
      values.push(value, value, id);
    }
  }
  const inner = `SELECT ${list.select}, ${sort.sql} AS sortValue FROM ${list.from}${
    list.where.length > 0 ? ` WHERE ${list.where.join(' AND ')}` : ''
  }`;
  const cursorClause = where.slice(list.where.length);
  const rows = store.all<Row & { sortValue: string | number | null }>(
    `SELECT * FROM (${inner})${cursorClause.length > 0 ? ` WHERE ${cursorClause.join(' AND ')}` : ''} ORDER BY sortValue IS NULL, sortValue ${list.descending ? 'DESC' : 'ASC'}, id LIMIT ?`,
    ...sort.values,
    ...list.values,
    ...values,
    list.limit + 1,
  );
  const count = store.get<{ n: number }>(
    `SELECT COUNT(*) AS n FROM ${list.from}${list.where.length > 0 ? ` WHERE ${list.where.join(' AND ')}` : ''}`,
    ...list.values,
  );
  const shown = rows.slice(0, list.limit);
  const last = shown.at(-1);
  const nextCursor =
    rows.length > list.limit && last
      ? Buffer.from(JSON.stringify([last.sortValue, last.id]), 'utf8').toString('base64url')
      : null;
  return { items: shown.map(present), nextCursor, total: count?.n ?? 0 };
}
