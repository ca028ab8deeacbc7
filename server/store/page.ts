import type { Page } from '../contract/common.ts';
import { fieldError, Refusal } from '../errors.ts';
import { inOrder } from '../inOrder.ts';
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

/** Conditions that a list's fields equal what a query asks for; what it does not ask for is left out. */
export function equalTo(
  columns: Readonly<Record<string, SqlValue | undefined>>,
): Pick<PagedList, 'where' | 'values'> {
  const asked = Object.entries(columns).flatMap(([column, value]) =>
    value === undefined ? [] : [{ column, value }],
  );
  return { where: asked.map(({ column }) => `${column} = ?`), values: asked.map(({ value }) => value) };
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

/** Identifiers of a page in their order, one more than asked where there are more. */
async function pageKeys(
  store: Store,
  list: PagedList,
): Promise<{ id: number; sortValue: string | number | null }[]> {
  const filter = list.where.length > 0 ? ` WHERE ${list.where.join(' AND ')}` : '';
  const direction = list.descending ? 'DESC' : 'ASC';
  const after = list.descending ? '<' : '>';
  const position = list.cursor === undefined ? null : readCursor(list.cursor);
  if (!list.sortBy) {
    const beyond =
      position === null ? '' : `${filter === '' ? ' WHERE' : ' AND'} ${list.idColumn} ${after} ?`;
    return store.all(
      `SELECT ${list.idColumn} AS id, ${list.idColumn} AS sortValue FROM ${list.from}${filter}${beyond} ORDER BY ${list.idColumn} ${direction} LIMIT ?`,
      ...list.values,
      ...(position === null ? [] : [position[1]]),
      list.limit + 1,
    );
  }
  let beyond = '';
  const values: SqlValue[] = [];
  if (position !== null) {
    const [value, id] = position;
    if (value === null) {
      beyond = ' WHERE sortValue IS NULL AND id > ?';
      values.push(id);
    } else {
      beyond = ` WHERE sortValue ${after} ? OR (sortValue = ? AND id > ?) OR sortValue IS NULL`;
      values.push(value, value, id);
    }
  }
  return store.all(
    `SELECT id, sortValue FROM (SELECT ${list.idColumn} AS id, ${list.sortBy.sql} AS sortValue FROM ${list.from}${filter})${beyond}
     ORDER BY sortValue IS NULL, sortValue ${direction}, id LIMIT ?`,
    ...list.sortBy.values,
    ...list.values,
    ...values,
    list.limit + 1,
  );
}

/**
 * One page of a list by its cursor, with the number of all matching rows. Missing sort values come last in either
 * direction. Rows that are added or removed between two pages neither repeat nor hide others. What a row shows is read for the
 * rows of the page only.
 */
export async function readPage<Row extends { id: number }, Item>(
  store: Store,
  list: PagedList,
  present: (row: Row) => Promise<Item> | Item,
): Promise<Page<Item>> {
  const keys = await pageKeys(store, list);
  const shown = keys.slice(0, list.limit);
  const rows = await store.all<Row>(
    `SELECT ${list.select} FROM ${list.from} WHERE ${list.idColumn} IN (SELECT value FROM json_each(?))`,
    JSON.stringify(shown.map((key) => key.id)),
  );
  const byId = new Map(rows.map((row) => [row.id, row]));
  const count = await store.get<{ n: number }>(
    `SELECT COUNT(*) AS n FROM ${list.from}${list.where.length > 0 ? ` WHERE ${list.where.join(' AND ')}` : ''}`,
    ...list.values,
  );
  const last = shown.at(-1);
  const nextCursor =
    keys.length > list.limit && last
      ? Buffer.from(JSON.stringify([last.sortValue, last.id]), 'utf8').toString('base64url')
      : null;
  const shownRows = shown.flatMap((key) => byId.get(key.id) ?? []);
  const items = await inOrder(shownRows, present);
  return { items, nextCursor, total: count?.n ?? 0 };
}
