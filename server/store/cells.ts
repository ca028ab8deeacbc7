import { type CompiledQuery, type RawBuilder, type SqlBool, sql } from 'kysely';
import type { Cell, CellRow, CellState } from '../contract/cells.ts';
import type { Page, QuantityValue } from '../contract/common.ts';
import type { StackState } from '../contract/stacks.ts';
import type { ColumnKey } from './columnKey.ts';
import { containsText, numbersIn } from './differences.ts';
import { isAnyIncoming, pairedOnceShown } from './incomingFiles.ts';
import { insertRows } from './insertRows.ts';
import { columnValues } from './measurements.ts';
import { matchingIds, readPage } from './page.ts';
import { valueOfCell } from './presentValues.ts';
import { prepareOnce } from './queries.ts';
import { changeRow } from './rows.ts';
import type { Store } from './store.ts';

function cells(store: Store) {
  return store.db
    .selectFrom('Cell as c')
    .innerJoin('Lot as l', 'l.id', 'c.lotId')
    .innerJoin('CellType as t', 't.id', 'l.cellTypeId')
    .leftJoin(
      ({ selectFrom }) =>
        selectFrom('StackCell as k')
          .innerJoin('Stack as q', 'q.id', 'k.stackId')
          .select(['k.cellId', 'q.id', 'q.name'])
          .where('q.state', '<>', sql.lit<StackState>('retired'))
          .as('s'),
      (join) => join.onRef('s.cellId', '=', 'c.id'),
    )
    .select(['c.id', 'c.lotId', 'c.serial', 'c.note', 'c.version', 'c.state', 'c.stateReason'])
    .select(['c.createdAt', 'l.name as lotName', 'l.cellTypeId', 't.name as cellTypeName'])
    .select(['s.id as stackId', 's.name as stackName'])
    .select('c.testCount');
}

/** Condition on a cell that the query calls `c`: available, but without what pairing needs. */
export async function lacksNeededValue(store: Store): Promise<RawBuilder<SqlBool>> {
  const lacks = sql<SqlBool>`(c."state" = 'available' and c."canBePaired" = false)`;
  if (!(await isAnyIncoming(store))) return lacks;
  return sql<SqlBool>`(${lacks} or (c."state" = 'available' and c."canBePaired" = ${sql.lit(pairedOnceShown)}
    and not exists (select 1 from "IncomingFile" f where f."lotId" = c."lotId" and f."shown" = 1)))`;
}

/** The query for one cell, made once for each kind of database: making it takes longer than running it. */
const oneCell = new Map<string, CompiledQuery<Cell>>();

export async function findCell(store: Store, id: number): Promise<Cell | null> {
  const { kind } = store.place;
  let query = oneCell.get(kind);
  if (query === undefined) {
    query = cells(store).where('c.id', '=', id).compile();
    prepareOnce(query);
    oneCell.set(kind, query);
  }
  const { rows } = await store.db.executeQuery<Cell>({ ...query, parameters: [id] });
  return rows[0] ?? null;
}

export async function findCellBySerial(store: Store, lotId: number, serial: string): Promise<Cell | null> {
  const found = cells(store).where('c.lotId', '=', lotId).where('c.serial', '=', serial);
  return (await found.executeTakeFirst()) ?? null;
}

/** Identifiers and serials of all cells of a lot, by serial. */
export async function listSerials(store: Store, lotId: number): Promise<{ id: number; serial: string }[]> {
  return store.db
    .selectFrom('Cell')
    .select(['id', 'serial'])
    .where('lotId', '=', lotId)
    .orderBy('serial')
    .execute();
}

/** All cells of a lot by serial. */
export async function listCells(store: Store, lotId: number): Promise<Cell[]> {
  return cells(store).where('c.lotId', '=', lotId).orderBy('c.serial').execute();
}

/** Serials of one statement: far below the number of parameters that a database takes. */
const serialsAtATime = 2000;

/** The identifiers of those cells of a lot that have one of these serials. */
export async function findCellIds(
  store: Store,
  lotId: number,
  serials: readonly string[],
): Promise<Map<string, number>> {
  const found = new Map<string, number>();
  for (let at = 0; at < serials.length; at += serialsAtATime) {
    const rows = await store.db
      .selectFrom('Cell')
      .select(['id', 'serial'])
      .where('lotId', '=', lotId)
      .where('serial', 'in', serials.slice(at, at + serialsAtATime))
      .execute();
    for (const { id, serial } of rows) found.set(serial, id);
  }
  return found;
}

/** Whether a lot has more cells than that. */
export async function hasMoreCellsThan(store: Store, lotId: number, count: number): Promise<boolean> {
  const row = await store.db
    .selectFrom('Cell')
    .select('id')
    .where('lotId', '=', lotId)
    .offset(count)
    .limit(1)
    .executeTakeFirst();
  return row !== undefined;
}

/** Whether all of these cells are there. */
export async function areThere(store: Store, ids: readonly number[]): Promise<boolean> {
  const { n } = await store.db
    .selectFrom('Cell')
    .select(({ fn }) => fn.countAll<number>().as('n'))
    .where('id', 'in', numbersIn(ids))
    .executeTakeFirstOrThrow();
  return n === ids.length;
}

/** What is stored of a new cell. */
export interface NewCell {
  readonly lotId: number;
  readonly serial: string;
  readonly note: string;
  readonly createdAt: string;
  readonly sourceFileId: number | null;
}

/** Stores many cells; inside a transaction. */
export async function insertCells(store: Store, cells: readonly NewCell[]): Promise<void> {
  await insertRows(store, 'Cell', ['lotId', 'serial', 'note', 'createdAt', 'sourceFileId'], cells);
}

/** Stores cells under identifiers that follow one another. */
export async function insertCellsFrom(
  store: Store,
  firstId: number,
  cells: readonly NewCell[],
): Promise<void> {
  await insertRows(
    store,
    'Cell',
    ['id', 'lotId', 'serial', 'note', 'createdAt', 'sourceFileId'],
    cells.map((cell, i) => ({ id: firstId + i, ...cell })),
  );
}

/** Stores a cell and returns its identifier; inside a transaction. */
export async function insertCell(store: Store, cell: NewCell): Promise<number> {
  const { lotId, serial, note, createdAt, sourceFileId } = cell;
  const { id } = await store.db
    .insertInto('Cell')
    .values({ lotId, serial, note, createdAt, sourceFileId })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Changes note and state of a cell where it still has the version; returns whether it had. */
export async function updateCell(
  store: Store,
  id: number,
  version: number,
  fields: { note?: string; state?: CellState; stateReason?: string | null },
): Promise<boolean> {
  return changeRow(store, 'Cell', { id, version, fields });
}

/** A page of cells across lots, by serial. */
export async function pageCells(
  store: Store,
  query: {
    cursor?: string;
    limit: number;
    search?: string;
    state?: CellState;
    lotId?: number;
    lacking: boolean;
  },
): Promise<Page<Cell>> {
  const { search, state, lotId, lacking, cursor, limit } = query;
  const all = store.db.selectFrom('Cell as c').select(['c.id', 'c.serial as sortValue']);
  const lacks = await lacksNeededValue(store);
  return readPage<Cell, Cell>(store, {
    matching: matchingIds(all, { 'c.state': state, 'c.lotId': lotId })
      .$if(search !== undefined, (found) =>
        found.where(({ ref }) => containsText(ref('c.serial'), search as string)),
      )
      .$if(lacking, (found) => found.where(lacks)),
    rows: (ids) => cells(store).where('c.id', 'in', ids).execute(),
    present: (row) => row,
    sort: 'sortValue',
    cursor,
    limit,
  });
}

/** Adds a line to a cell's note; inside a transaction. */
export async function addToNote(store: Store, id: number, line: string): Promise<void> {
  const { note, version } = await store.db
    .selectFrom('Cell')
    .select(['note', 'version'])
    .where('id', '=', id)
    .executeTakeFirstOrThrow();
  await store.db
    .updateTable('Cell')
    .set({ note: note === '' ? line : `${note}\n${line}`, version: version + 1 })
    .where('id', '=', id)
    .execute();
}

/** What a page of a lot's table asks for. */
export interface CellRowsQuery {
  readonly cursor?: string;
  readonly limit: number;
  readonly search?: string;
  readonly state?: CellState;
  readonly sort: 'serial' | 'state' | 'tests' | ColumnKey;
  readonly descending: boolean;
  readonly columns: readonly { readonly text: string; readonly key: ColumnKey }[];
}

/** What a lot's table is sorted by, of the cell `c`; a column by the value that it shows. */
async function sortedBy(
  store: Store,
  lotId: number,
  sort: CellRowsQuery['sort'],
): Promise<RawBuilder<string | number | null>> {
  if (sort === 'tests') return sql.ref<number>('c.testCount');
  return typeof sort === 'string' ? sql.ref<string>(`c.${sort}`) : valueOfCell(store, lotId, sort);
}

/** A page of a lot's cells with their present values, sorted and filtered in the database. */
export async function pageCellRows(
  store: Store,
  lotId: number,
  query: CellRowsQuery,
): Promise<Page<CellRow>> {
  type Row = Omit<CellRow, 'values'>;
  const { search, state, descending, cursor, limit } = query;
  const ofLot = store.db.selectFrom('Cell as c').select('c.id').where('c.lotId', '=', lotId);
  const sortValue = await sortedBy(store, lotId, query.sort);
  const page = await readPage<Row, CellRow>(store, {
    matching: matchingIds(ofLot, { 'c.state': state })
      .$if(search !== undefined, (found) =>
        found.where(({ ref }) => containsText(ref('c.serial'), search as string)),
      )
      .select(sortValue.as('sortValue')),
    rows: (ids) =>
      store.db
        .selectFrom('Cell as c')
        .select(['c.id', 'c.serial', 'c.state', 'c.stateReason', 'c.version', 'c.testCount'])
        .where('c.id', 'in', ids)
        .execute(),
    present: (row) => ({ ...row, values: {} }),
    sort: 'sortValue',
    descending,
    cursor,
    limit,
  });
  const shownIds = page.items.map((row) => row.id);
  for (const column of query.columns) {
    const present = await columnValues(store, lotId, column.key, shownIds);
    for (const row of page.items) {
      const found = present.get(row.id);
      row.values[column.text] = found ? presentValue(found) : missing;
    }
  }
  return page;
}

const missing: CellRow['values'][string] = {
  value: null,
  unit: '',
  standardUncertainty: null,
  reason: 'not-measured',
  measurementId: null,
};

function presentValue(value: QuantityValue & { measurementId: number }): CellRow['values'][string] {
  return {
    value: value.value,
    unit: value.unit,
    standardUncertainty: value.standardUncertainty,
    reason: value.reason,
    measurementId: value.measurementId,
  };
}

/** The cell and all that hangs on it, as subjects of the audit. */
export async function listCellSubjects(
  store: Store,
  cellId: number,
): Promise<{ kind: string; ids: number[] }[]> {
  const { db } = store;
  const idsOf = async (query: { execute(): Promise<{ id: number | null }[]> }): Promise<number[]> =>
    (await query.execute()).flatMap(({ id }) => id ?? []);
  const tests = db.selectFrom('Test').where('cellId', '=', cellId);
  const stacks = db.selectFrom('StackCell').select('stackId as id').where('cellId', '=', cellId);
  const pairs = db.selectFrom('PairCell').select('pairId as id').where('cellId', '=', cellId);
  const files = db
    .selectFrom('Cell')
    .select('sourceFileId as id')
    .where('id', '=', cellId)
    .union(tests.select('sourceFileId as id'));
  return [
    { kind: 'cell', ids: [cellId] },
    { kind: 'test', ids: await idsOf(tests.select('id')) },
    { kind: 'pair', ids: await idsOf(pairs) },
    { kind: 'stack', ids: await idsOf(stacks) },
    { kind: 'source-file', ids: await idsOf(files) },
  ];
}
