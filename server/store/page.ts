import {
  type AliasableExpression,
  type Expression,
  type SelectQueryBuilder,
  type SqlBool,
  sql,
} from 'kysely';
import type { Page } from '../contract/common.ts';
import { fieldError, Refusal } from '../errors.ts';
import type { Store } from './store.ts';

type SortValue = string | number | null;

/** How a list is gone through: its rows come in the order of their sort value, then of their identifier. */
export interface PagedList<Row extends { readonly id: number }, Item> {
  /** Identifiers of everything that matches, as `id`, with what they are sorted by as `sortValue`. */
  readonly matching: AliasableExpression<{ id: number }>;
  /** By the identifier itself, or by the `sortValue` that is selected beside it. */
  readonly sort: 'id' | 'sortValue';
  /** What a row shows, read for the rows of one page only; in any order. */
  readonly rows: (ids: readonly number[]) => Promise<readonly Row[]>;
  readonly present: (row: Row) => Promise<Item> | Item;
  readonly descending?: boolean;
  readonly cursor: string | undefined;
  readonly limit: number;
  /** How many match, where it is known; else they are counted. */
  readonly total?: number;
}

/** Keeps those rows of a query whose columns equal what is asked; what is not asked for is left out. */
export function matchingIds<D, T extends keyof D, O>(
  query: SelectQueryBuilder<D, T, O>,
  asked: Readonly<Record<string, string | number | undefined>>,
): SelectQueryBuilder<D, T, O> {
  let kept = query;
  for (const [column, value] of Object.entries(asked)) {
    if (value !== undefined) kept = kept.where(sql<SqlBool>`${sql.ref(column)} = ${value}`);
  }
  return kept;
}

type Position = readonly [sort: SortValue, id: number];

function readCursor(cursor: string): Position {
  try {
    const parsed: unknown = JSON.parse(Buffer.from(cursor, 'base64url').toString('utf8'));
    if (Array.isArray(parsed) && parsed.length === 2 && Number.isInteger(parsed[1])) {
      const sort: unknown = parsed[0];
      if (sort === null || typeof sort === 'string' || typeof sort === 'number')
        return [sort, Number(parsed[1])];
    }
  } catch {
    // Falls through to the refusal below: a cursor that is not JSON is as wrong as one of another shape.
  }
  throw new Refusal('invalid-request', 'The cursor is not one that this service gave out.', [
    fieldError('cursor', cursor, 'cannot be read', 'the nextCursor of the page before'),
  ]);
}

const id = sql.ref<number>('k.id');
const sortValue = sql.ref<SortValue>('k.sortValue');

/** Whether a row comes after a position. Missing sort values come last in either direction. */
function isAfter(sort: 'id' | 'sortValue', descending: boolean, [value, at]: Position): Expression<SqlBool> {
  const beyond = sql.raw(descending ? '<' : '>');
  if (sort === 'id') return sql<SqlBool>`${id} ${beyond} ${at}`;
  if (value === null) return sql<SqlBool>`${sortValue} is null and ${id} > ${at}`;
  return sql<SqlBool>`(${sortValue} ${beyond} ${value} or (${sortValue} = ${value} and ${id} > ${at}) or ${sortValue} is null)`;
}

/**
 * Identifiers of a page in their order, one more than asked where there are more, each with the number of all matching rows:
 * by one statement, so that both are of one moment.
 */
async function pageKeys<Row extends { readonly id: number }, Item>(
  store: Store,
  list: PagedList<Row, Item>,
): Promise<{ id: number; sortValue: SortValue; total?: number }[]> {
  const { sort, cursor, limit, descending = false } = list;
  const direction = descending ? 'desc' : 'asc';
  const position = cursor === undefined ? null : readCursor(cursor);
  const sorted = sort === 'id' ? id : sortValue;
  return store.db
    .selectFrom(list.matching.as('k'))
    .select([id.as('id'), sorted.as('sortValue')])
    .$if(list.total === undefined, (query) =>
      query.select((eb) =>
        eb
          .selectFrom(list.matching.as('m'))
          .select(({ fn }) => fn.countAll<number>().as('count'))
          .$asScalar()
          .as('total'),
      ),
    )
    .$if(position !== null, (query) => query.where(isAfter(sort, descending, position as Position)))
    .$if(sort === 'sortValue', (query) => query.orderBy(sql`${sortValue} is null`))
    .orderBy(sorted, direction)
    .$if(sort === 'sortValue', (query) => query.orderBy(id))
    .limit(limit + 1)
    .execute();
}

async function countMatching(store: Store, matching: AliasableExpression<{ id: number }>): Promise<number> {
  const { total } = await store.db
    .selectFrom(matching.as('k'))
    .select(({ fn }) => fn.countAll<number>().as('total'))
    .executeTakeFirstOrThrow();
  return total;
}

/**
 * One page of a list by its cursor, with the number of all matching rows. Rows that are added or removed between two
 * pages neither repeat nor hide others.
 */
export async function readPage<Row extends { readonly id: number }, Item>(
  store: Store,
  list: PagedList<Row, Item>,
): Promise<Page<Item>> {
  const keys = await pageKeys(store, list);
  const shown = keys.slice(0, list.limit);
  const rows = shown.length === 0 ? [] : await list.rows(shown.map((key) => key.id));
  const byId = new Map(rows.map((row) => [row.id, row]));
  const total = list.total ?? keys[0]?.total ?? (await countMatching(store, list.matching));
  const last = shown.at(-1);
  const nextCursor =
    keys.length > list.limit && last
      ? Buffer.from(JSON.stringify([last.sortValue, last.id]), 'utf8').toString('base64url')
      : null;
  const items: Item[] = [];
  const unreadable: NonNullable<Page<Item>['unreadable']> = [];
  for (const key of shown) {
    const row = byId.get(key.id);
    if (row === undefined) continue;
    try {
      items.push(await list.present(row));
    } catch (error) {
      // One damaged document hides no others.
      if (!(error instanceof Refusal && error.code === 'storage-damaged')) throw error;
      unreadable.push({ id: key.id, reason: error.message });
    }
  }
  const page = { items, nextCursor, total };
  return unreadable.length === 0 ? page : { ...page, unreadable };
}
