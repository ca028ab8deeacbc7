import type { CellState } from '../contract/cells.ts';
import type { Page, QuantityValue } from '../contract/common.ts';
import type { Stack, StackState } from '../contract/stacks.ts';
import { readPage } from './page.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';

const columns = `s.id, s.version, s.name, s.state, s.note, s.pairId, p.pairingId, s.createdAt, s.builtAt, s.checkUpDueAt`;
const from = 'Stack s LEFT JOIN Pair p ON p.id = s.pairId';

type StackRow = Omit<Stack, 'cells'>;

async function withCells(store: Store, row: StackRow): Promise<Stack> {
  const cells = await store.all<{
    position: number;
    cellId: number;
    serial: string;
    lotId: number;
    lotName: string;
    chosenJson: string;
  }>(
    `SELECT k.position, k.cellId, c.serial, c.lotId, l.name AS lotName, k.chosenJson FROM StackCell k
     JOIN Cell c ON c.id = k.cellId JOIN Lot l ON l.id = c.lotId WHERE k.stackId = ? ORDER BY k.position`,
    row.id,
  );
  return {
    ...row,
    cells: cells.map(({ chosenJson, ...cell }) => ({
      ...cell,
      chosenBy: JSON.parse(chosenJson) as Record<string, QuantityValue>,
    })),
  };
}

export async function findStack(store: Store, id: number): Promise<Stack | null> {
  const row = await store.get<StackRow>(`SELECT ${columns} FROM ${from} WHERE s.id = ?`, id);
  return row ? await withCells(store, row) : null;
}

/** A page of stacks, newest first. */
export async function pageStacks(
  store: Store,
  query: { cursor?: string; limit: number; state?: StackState },
): Promise<Page<Stack>> {
  const where: string[] = [];
  const values: SqlValue[] = [];
  if (query.state !== undefined) {
    where.push('s.state = ?');
    values.push(query.state);
  }
  return readPage<StackRow, Stack>(
    store,
    {
      select: columns,
      from,
      where,
      values,
      idColumn: 's.id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    async (row) => withCells(store, row),
  );
}

/** Stacks in use or planned, of two cells that both belong to the lot, with their serials by position. */
export async function listLotStacks(
  store: SqlStore,
  lotId: number,
): Promise<{ id: number; name: string; serials: [string, string] }[]> {
  return (
    await store.all<{ id: number; name: string; first: string; second: string }>(
      `SELECT s.id, s.name, a.serial AS first, b.serial AS second FROM Stack s
       JOIN StackCell k ON k.stackId = s.id AND k.position = (SELECT MIN(position) FROM StackCell WHERE stackId = s.id)
       JOIN StackCell m ON m.stackId = s.id AND m.position = (SELECT MAX(position) FROM StackCell WHERE stackId = s.id)
       JOIN Cell a ON a.id = k.cellId JOIN Cell b ON b.id = m.cellId
       WHERE a.lotId = ? AND b.lotId = ? AND a.id <> b.id AND s.state <> 'retired'
         AND (SELECT COUNT(*) FROM StackCell WHERE stackId = s.id) = 2 ORDER BY s.id`,
      lotId,
      lotId,
    )
  ).map(({ id, name, first, second }) => ({ id, name, serials: [first, second] }));
}

/** Stores a planned stack with the values its cells were chosen by; to be called inside a transaction. */
export async function insertStack(
  store: SqlStore,
  stack: {
    readonly name: string;
    readonly note: string;
    readonly pairId: number;
    readonly createdAt: string;
    readonly cells: readonly { readonly cellId: number; readonly chosenBy: Record<string, QuantityValue> }[];
  },
): Promise<number> {
  const { id } = await store.run(
    'INSERT INTO Stack (name, note, pairId, createdAt) VALUES (?, ?, ?, ?)',
    stack.name,
    stack.note,
    stack.pairId,
    stack.createdAt,
  );
  for (const [i, { cellId, chosenBy }] of stack.cells.entries()) {
    await store.run(
      'INSERT INTO StackCell (stackId, position, cellId, chosenJson) VALUES (?, ?, ?, ?)',
      id,
      i + 1,
      cellId,
      JSON.stringify(chosenBy),
    );
  }
  return id;
}

export async function stackNameIsTaken(store: SqlStore, name: string): Promise<boolean> {
  return (await store.get('SELECT 1 FROM Stack WHERE name = ?', name)) !== undefined;
}

/** Writes what can change of a stack and counts its version up; to be called inside a transaction. */
export async function updateStack(
  store: SqlStore,
  id: number,
  stack: Pick<Stack, 'name' | 'note' | 'state' | 'builtAt' | 'checkUpDueAt'>,
): Promise<void> {
  await store.run(
    `UPDATE Stack SET name = ?, note = ?, state = ?, builtAt = ?, checkUpDueAt = ?, version = version + 1 WHERE id = ?`,
    stack.name,
    stack.note,
    stack.state,
    stack.builtAt,
    stack.checkUpDueAt,
    id,
  );
}

/** Removes a stack; its cells and pair stay. */
export async function deleteStack(store: SqlStore, id: number): Promise<void> {
  await store.run('DELETE FROM Stack WHERE id = ?', id);
}

/** Changes the state of a cell that goes into a stack or leaves it; to be called inside a transaction. */
export async function setCellState(
  store: SqlStore,
  cellId: number,
  state: CellState,
  reason: string | null,
): Promise<void> {
  await store.run(
    'UPDATE Cell SET state = ?, stateReason = ?, version = version + 1 WHERE id = ?',
    state,
    reason,
    cellId,
  );
}
