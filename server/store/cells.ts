import type { Cell, CellRow, CellState } from '../contract/cells.ts';
import type { Page, QuantityValue } from '../contract/common.ts';
import type { ColumnKey } from './columnKey.ts';
import { columnValueSql, columnValues } from './measurements.ts';
import { readPage } from './page.ts';
import { changeRow } from './rows.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';

const columns = `c.id, c.lotId, c.serial, c.note, c.version, c.state, c.stateReason, c.createdAt, l.name AS lotName,
  l.cellTypeId, t.name AS cellTypeName,
  (SELECT COUNT(*) FROM Test x WHERE x.cellId = c.id AND x.state = 'sealed') AS testCount,
  s.id AS stackId, s.name AS stackName`;
const from = `Cell c JOIN Lot l ON l.id = c.lotId JOIN CellType t ON t.id = l.cellTypeId
  LEFT JOIN StackCell sc ON sc.cellId = c.id AND EXISTS (SELECT 1 FROM Stack q WHERE q.id = sc.stackId AND q.state <> 'retired')
  LEFT JOIN Stack s ON s.id = sc.stackId`;

const lacks = (quantity: string): string =>
  `NOT EXISTS (SELECT 1 FROM Measurement m WHERE m.cellId = c.id AND m.quantity = '${quantity}'
     AND m.supersededAt IS NULL AND m.value IS NOT NULL AND m.excludedReason IS NULL)`;

/** SQL condition on cell `c`: available, but without what pairing needs. */
export const lacksNeededValue = `c.state = 'available' AND (${lacks('capacity')} OR ${lacks('resistance')})`;

export async function findCell(store: Store, id: number): Promise<Cell | null> {
  return (await store.get<Cell>(`SELECT ${columns} FROM ${from} WHERE c.id = ?`, id)) ?? null;
}

export async function findCellBySerial(store: SqlStore, lotId: number, serial: string): Promise<Cell | null> {
  return (
    (await store.get<Cell>(
      `SELECT ${columns} FROM ${from} WHERE c.lotId = ? AND c.serial = ?`,
      lotId,
      serial,
    )) ?? null
  );
}

/** All cells of a lot by serial. */
export async function listCells(store: Store, lotId: number): Promise<Cell[]> {
  return store.all<Cell>(`SELECT ${columns} FROM ${from} WHERE c.lotId = ? ORDER BY c.serial`, lotId);
}

/** Stores a cell and returns its identifier; synchronous, for use inside a transaction. */
export async function insertCell(
  store: SqlStore,
  cell: { lotId: number; serial: string; note: string; createdAt: string; sourceFileId: number | null },
): Promise<number> {
  return (
    await store.run(
      'INSERT INTO Cell (lotId, serial, note, createdAt, sourceFileId) VALUES (?, ?, ?, ?, ?)',
      cell.lotId,
      cell.serial,
      cell.note,
      cell.createdAt,
      cell.sourceFileId,
    )
  ).id;
}

/** Changes note and state of a cell where it still has the version; returns whether it had. */
export async function updateCell(
  store: SqlStore,
  id: number,
  version: number,
  fields: { note?: string; state?: CellState; stateReason?: string | null },
): Promise<boolean> {
  return changeRow(store, 'Cell', ['note', 'state', 'stateReason'], { id, version, fields });
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
  const where: string[] = [];
  const values: SqlValue[] = [];
  const add = (sql: string, value: SqlValue | undefined): void => {
    if (value === undefined) return;
    where.push(sql);
    values.push(value);
  };
  add('instr(lower(c.serial), lower(?)) > 0', query.search);
  add('c.state = ?', query.state);
  add('c.lotId = ?', query.lotId);
  if (query.lacking) where.push(lacksNeededValue);
  return readPage<Cell, Cell>(
    store,
    {
      select: columns,
      from,
      where,
      values,
      idColumn: 'c.id',
      sortBy: { sql: 'c.serial', values: [] },
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => row,
  );
}

/** Adds a line to a cell's note; inside a transaction. */
export async function addToNote(store: SqlStore, id: number, line: string): Promise<void> {
  await store.run(
    `UPDATE Cell SET note = CASE WHEN note = '' THEN ? ELSE note || char(10) || ? END, version = version + 1 WHERE id = ?`,
    line,
    line,
    id,
  );
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

/** A page of a lot's cells with their present values, sorted and filtered in the database. */
export async function pageCellRows(
  store: Store,
  lotId: number,
  query: CellRowsQuery,
): Promise<Page<CellRow>> {
  const where = ['c.lotId = ?'];
  const values: SqlValue[] = [lotId];
  if (query.search !== undefined) {
    where.push('instr(lower(c.serial), lower(?)) > 0');
    values.push(query.search);
  }
  if (query.state !== undefined) {
    where.push('c.state = ?');
    values.push(query.state);
  }
  const testCount = `(SELECT COUNT(*) FROM Test x WHERE x.cellId = c.id AND x.state = 'sealed')`;
  const sortBy =
    typeof query.sort === 'object'
      ? columnValueSql(query.sort)
      : { sql: { serial: 'c.serial', state: 'c.state', tests: testCount }[query.sort], values: [] };
  const page = await readPage<Omit<CellRow, 'values'>, CellRow>(
    store,
    {
      select: `c.id, c.serial, c.state, c.stateReason, c.version, ${testCount} AS testCount`,
      from: 'Cell c',
      where,
      values,
      idColumn: 'c.id',
      sortBy,
      descending: query.descending,
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => ({ ...row, values: {} }),
  );
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
  const ids = async (sql: string): Promise<number[]> => {
    const places = sql
      .split('?')
      .slice(1)
      .map(() => cellId);
    return (await store.all<{ id: number }>(sql, ...places)).map((row) => row.id);
  };
  return [
    { kind: 'cell', ids: [cellId] },
    { kind: 'test', ids: await ids('SELECT id FROM Test WHERE cellId = ?') },
    { kind: 'pair', ids: await ids('SELECT id FROM Pair WHERE ? IN (cellAId, cellBId)') },
    { kind: 'stack', ids: await ids('SELECT stackId AS id FROM StackCell WHERE cellId = ?') },
    {
      kind: 'source-file',
      ids: await ids(`SELECT sourceFileId AS id FROM Cell WHERE id = ? AND sourceFileId IS NOT NULL
        UNION SELECT sourceFileId FROM Test WHERE cellId = ? AND sourceFileId IS NOT NULL`),
    },
  ];
}
