import { sql } from 'kysely';
import type { Page } from '../contract/common.ts';
import type { ChangeLot, CreateLot, Lot } from '../contract/lots.ts';
import { containsText } from './differences.ts';
import { matchingIds, readPage } from './page.ts';
import { changeRow } from './rows.ts';
import type { Store } from './store.ts';
import { canBeEvaluated } from './sweeps.ts';

interface LotRow extends Omit<Lot, 'counts'> {
  cells: number;
  availableCells: number;
  tests: number;
  testsNotEvaluated: number;
  pairings: number;
  stacks: number;
}

function lots(store: Store) {
  return (
    store.db
      .selectFrom('Lot as l')
      .innerJoin('CellType as t', 't.id', 'l.cellTypeId')
      // From the few tests that wait for their evaluation, not from the many of each lot.
      .leftJoin(
        ({ selectFrom, fn }) =>
          selectFrom('Test as x')
            .innerJoin('Cell as c', 'c.id', 'x.cellId')
            .select('c.lotId')
            .select(fn.countAll<number>().as('tests'))
            .where('x.state', '=', 'sealed')
            .where('x.evaluatedAt', 'is', null)
            .where(canBeEvaluated('x.id'))
            .groupBy('c.lotId')
            .as('w'),
        (join) => join.onRef('w.lotId', '=', 'l.id'),
      )
      .select(['l.id', 'l.name', 'l.cellTypeId', 'l.receivedOn', 'l.note', 'l.createdAt', 'l.version'])
      .select(['t.name as cellTypeName', 't.ratedCapacityAh'])
      .select((eb) => {
        const { selectFrom, fn } = eb;
        const cells = selectFrom('Cell as c').whereRef('c.lotId', '=', 'l.id');
        const count = fn.countAll<number>().as('n');
        return [
          cells.select(count).$asScalar().$notNull().as('cells'),
          cells.where('c.state', '=', 'available').select(count).$asScalar().$notNull().as('availableCells'),
          cells
            .select((eb) => eb.fn.coalesce(eb.fn.sum<number>('c.testCount'), sql.lit(0)).as('n'))
            .$asScalar()
            .$notNull()
            .as('tests'),
          eb.fn.coalesce('w.tests', sql.lit(0)).as('testsNotEvaluated'),
          selectFrom('Pairing as p')
            .whereRef('p.lotId', '=', 'l.id')
            .select(count)
            .$asScalar()
            .$notNull()
            .as('pairings'),
          cells
            .innerJoin('StackCell as s', 's.cellId', 'c.id')
            .select((eb) => eb.fn.count<number>('s.stackId').distinct().as('n'))
            .$asScalar()
            .$notNull()
            .as('stacks'),
        ];
      })
  );
}

function present(row: LotRow): Lot {
  const { cells, availableCells, tests, testsNotEvaluated, pairings, stacks, ...lot } = row;
  return { ...lot, counts: { cells, availableCells, tests, testsNotEvaluated, pairings, stacks } };
}

/** A page of the lots, newest first. */
export async function pageLots(
  store: Store,
  query: { cursor?: string; limit: number; search?: string; cellTypeId?: number },
): Promise<Page<Lot>> {
  const { search, cellTypeId, cursor, limit } = query;
  return readPage<LotRow, Lot>(store, {
    matching: matchingIds(store.db.selectFrom('Lot').select('id'), { cellTypeId }).$if(
      search !== undefined,
      (found) => found.where(({ ref }) => containsText(ref('name'), search as string)),
    ),
    rows: (ids) => lots(store).where('l.id', 'in', ids).execute(),
    present,
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}

/** What a lot is, without what it holds. */
export async function findLotHead(
  store: Store,
  id: number,
): Promise<{ id: number; name: string; cellTypeId: number } | null> {
  const row = await store.db
    .selectFrom('Lot')
    .select(['id', 'name', 'cellTypeId'])
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

export async function findLot(store: Store, id: number): Promise<Lot | null> {
  const row = await lots(store).where('l.id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(row);
}

export async function findLotByName(store: Store, name: string): Promise<Lot | null> {
  const row = await lots(store).where('l.name', '=', name).executeTakeFirst();
  return row === undefined ? null : present(row);
}

export async function insertLot(store: Store, fields: CreateLot, createdAt: string): Promise<number> {
  const { id } = await store.db
    .insertInto('Lot')
    .values({ ...fields, createdAt })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Changes a lot where it still has the version; returns whether it had. */
export async function updateLot(
  store: Store,
  id: number,
  version: number,
  fields: ChangeLot,
): Promise<boolean> {
  return changeRow(store, 'Lot', { id, version, fields });
}

/** Removes a lot that holds nothing; returns whether it did. */
export async function deleteEmptyLot(store: Store, id: number, version: number): Promise<boolean> {
  const { numDeletedRows } = await store.db
    .deleteFrom('Lot')
    .where('id', '=', id)
    .where('version', '=', version)
    .where(({ not, exists, selectFrom }) =>
      not(exists(selectFrom('Cell as c').select('c.id').whereRef('c.lotId', '=', 'Lot.id'))),
    )
    .where(({ not, exists, selectFrom }) =>
      not(exists(selectFrom('IncomingFile as f').select('f.lotId').whereRef('f.lotId', '=', 'Lot.id'))),
    )
    .executeTakeFirstOrThrow();
  return numDeletedRows === 1n;
}
