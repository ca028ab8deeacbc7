import type { Page, QuantityValue } from '../contract/common.ts';
import type { Stack, StackState } from '../contract/stacks.ts';
import { readPage } from './page.ts';
import type { SqlValue, Store } from './store.ts';

const columns = `s.id, s.version, s.name, s.state, s.note, s.pairId, p.pairingId, s.createdAt, s.builtAt, s.checkUpDueAt`;
const from = 'Stack s LEFT JOIN Pair p ON p.id = s.pairId';

type StackRow = Omit<Stack, 'cells'>;

function withCells(store: Store, row: StackRow): Stack {
  const cells = store.all<{
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

export function findStack(store: Store, id: number): Stack | null {
  const row = store.get<StackRow>(`SELECT ${columns} FROM ${from} WHERE s.id = ?`, id);
  return row ? withCells(store, row) : null;
}

/** A page of stacks, newest first. */
export function pageStacks(
  store: Store,
  query: { cursor?: string; limit: number; state?: StackState },
): Page<Stack> {
  const where: string[] = [];
  const values: SqlValue[] = [];
  if (query.state !== undefined) {
    where.push('s.state = ?');
    values.push(query.state);
  }
  return readPage<StackRow & { sortValue?: unknown }, Stack>(
    store,
    {
      select: columns,
      from,
      where,
      values,
      idColumn: 's.id',
      sortBy: { sql: '-s.id', values: [] },
      cursor: query.cursor,
      limit: query.limit,
    },
    ({ sortValue: _sortValue, ...row }) => withCells(store, row),
  );
}
