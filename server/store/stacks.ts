import { z } from 'zod';
import type { CellState } from '../contract/cells.ts';
import { type Page, type QuantityValue, quantityValue } from '../contract/common.ts';
import type { Stack, StackState } from '../contract/stacks.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

type StackRow = Omit<Stack, 'cells'>;

function stacks(store: Store) {
  return store.db
    .selectFrom('Stack as s')
    .leftJoin('Pair as p', 'p.id', 's.pairId')
    .select(['s.id', 's.version', 's.name', 's.state', 's.note', 's.pairId', 'p.pairingId'])
    .select(['s.createdAt', 's.builtAt', 's.checkUpDueAt']);
}

const chosenBy = z.record(z.string(), quantityValue);

async function withCells(store: Store, row: StackRow): Promise<Stack> {
  const cells = await store.db
    .selectFrom('StackCell as k')
    .innerJoin('Cell as c', 'c.id', 'k.cellId')
    .innerJoin('Lot as l', 'l.id', 'c.lotId')
    .select(['k.position', 'k.cellId', 'c.serial', 'c.lotId', 'l.name as lotName', 'k.chosenJson'])
    .where('k.stackId', '=', row.id)
    .orderBy('k.position')
    .execute();
  return {
    ...row,
    cells: cells.map(({ chosenJson, ...cell }) => ({
      ...cell,
      chosenBy: parseStored(chosenBy, chosenJson, `choice of cell ${cell.serial} in stack ${row.name}`),
    })),
  };
}

export async function findStack(store: Store, id: number): Promise<Stack | null> {
  const row = await stacks(store).where('s.id', '=', id).executeTakeFirst();
  return row === undefined ? null : withCells(store, row);
}

/** Identifier of the stack of a name, or null. */
export async function findStackId(store: Store, name: string): Promise<number | null> {
  const row = await store.db.selectFrom('Stack').select('id').where('name', '=', name).executeTakeFirst();
  return row?.id ?? null;
}

/** A page of stacks, newest first. */
export async function pageStacks(
  store: Store,
  query: { cursor?: string; limit: number; state?: StackState },
): Promise<Page<Stack>> {
  const { state, cursor, limit } = query;
  return readPage<StackRow, Stack>(store, {
    matching: matchingIds(store.db.selectFrom('Stack').select('id'), { state }),
    rows: (ids) => stacks(store).where('s.id', 'in', ids).execute(),
    present: (row) => withCells(store, row),
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}

/** Stacks in use or planned, of two cells that both belong to the lot, with their serials by position. */
export async function listLotStacks(
  store: Store,
  lotId: number,
): Promise<{ id: number; name: string; serials: [string, string] }[]> {
  const rows = await store.db
    .selectFrom('Stack as s')
    .innerJoin('StackCell as k', 'k.stackId', 's.id')
    .innerJoin('Cell as c', 'c.id', 'k.cellId')
    .select(['s.id', 's.name', 'c.id as cellId', 'c.serial', 'c.lotId'])
    .where('s.state', '<>', 'retired')
    .where('s.id', 'in', ({ selectFrom }) =>
      selectFrom('StackCell as o')
        .innerJoin('Cell as i', 'i.id', 'o.cellId')
        .select('o.stackId')
        .where('i.lotId', '=', lotId),
    )
    .orderBy('s.id')
    .orderBy('k.position')
    .execute();
  const byStack = new Map<number, typeof rows>();
  for (const row of rows) byStack.set(row.id, [...(byStack.get(row.id) ?? []), row]);
  return [...byStack.values()].flatMap((cells) => {
    const [first, second] = cells;
    if (cells.length !== 2 || first.cellId === second.cellId) return [];
    if (cells.some((cell) => cell.lotId !== lotId)) return [];
    return [{ id: first.id, name: first.name, serials: [first.serial, second.serial] }];
  });
}

/** Stores a planned stack with the values its cells were chosen by; to be called inside a transaction. */
export async function insertStack(
  store: Store,
  stack: {
    readonly name: string;
    readonly note: string;
    readonly pairId: number;
    readonly createdAt: string;
    readonly cells: readonly { readonly cellId: number; readonly chosenBy: Record<string, QuantityValue> }[];
  },
): Promise<number> {
  const { cells, ...row } = stack;
  const { id } = await store.db.insertInto('Stack').values(row).returning('id').executeTakeFirstOrThrow();
  await store.db
    .insertInto('StackCell')
    .values(
      cells.map((cell, i) => ({
        stackId: id,
        position: i + 1,
        cellId: cell.cellId,
        chosenJson: JSON.stringify(cell.chosenBy),
      })),
    )
    .execute();
  return id;
}

export async function stackNameIsTaken(store: Store, name: string): Promise<boolean> {
  return (await findStackId(store, name)) !== null;
}

/** Writes what can change of a stack and counts its version up; to be called inside a transaction. */
export async function updateStack(
  store: Store,
  id: number,
  stack: Pick<Stack, 'name' | 'note' | 'state' | 'builtAt' | 'checkUpDueAt'>,
): Promise<void> {
  const { name, note, state, builtAt, checkUpDueAt } = stack;
  await store.db
    .updateTable('Stack')
    .set(({ eb }) => ({ name, note, state, builtAt, checkUpDueAt, version: eb('version', '+', 1) }))
    .where('id', '=', id)
    .execute();
}

/** Removes a stack; its cells and pair stay. */
export async function deleteStack(store: Store, id: number): Promise<void> {
  await store.db.deleteFrom('Stack').where('id', '=', id).execute();
}

/** Changes the state of a cell that goes into a stack or leaves it; to be called inside a transaction. */
export async function setCellState(
  store: Store,
  cellId: number,
  state: CellState,
  reason: string | null,
): Promise<void> {
  await store.db
    .updateTable('Cell')
    .set(({ eb }) => ({ state, stateReason: reason, version: eb('version', '+', 1) }))
    .where('id', '=', cellId)
    .execute();
}
