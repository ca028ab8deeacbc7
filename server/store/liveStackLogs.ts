import type { LiveLogState } from '../contract/liveStackLogs.ts';
import type { Store } from './store.ts';

/** An open or closed live log. */
export interface LiveStackLog extends Omit<LiveLogState, 'state' | 'repeated'> {
  readonly columnsJson: string;
  readonly optionsJson: string;
  readonly closedAt: string | null;
}

const columns = [
  'id',
  'stackId',
  'rowCount',
  'lastTimeS',
  'createdAt as openedAt',
  'createdBy as openedBy',
  'stackLogId',
  'columnsJson',
  'optionsJson',
  'closedAt',
] as const;

export async function findLiveStackLog(store: Store, id: number): Promise<LiveStackLog | null> {
  const row = await store.db
    .selectFrom('LiveStackLog')
    .select(columns)
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

/** The open live logs of a stack, newest first. */
export async function listOpenLiveStackLogs(store: Store, stackId: number): Promise<LiveStackLog[]> {
  return store.db
    .selectFrom('LiveStackLog')
    .select(columns)
    .where('stackId', '=', stackId)
    .where('closedAt', 'is', null)
    .orderBy('id', 'desc')
    .execute();
}

export async function insertLiveStackLog(
  store: Store,
  log: { stackId: number; columnsJson: string; optionsJson: string; createdAt: string; createdBy: string },
): Promise<number> {
  const { id } = await store.db
    .insertInto('LiveStackLog')
    .values(log)
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Makes the log this transaction's: of two that reach for it, the later one waits and then runs again. */
export async function claimLiveStackLog(store: Store, id: number): Promise<void> {
  await store.db
    .updateTable('LiveStackLog')
    .set(({ ref }) => ({ rowCount: ref('rowCount') }))
    .where('id', '=', id)
    .execute();
}

/** Whether rows with this key were stored. */
export async function hasLiveRows(store: Store, id: number, key: string): Promise<boolean> {
  const row = await store.db
    .selectFrom('LiveStackLogBatch')
    .select('key')
    .where('liveStackLogId', '=', id)
    .where('key', '=', key)
    .executeTakeFirst();
  return row !== undefined;
}

/** Appends lines to an open log; inside a transaction. */
export async function appendLiveRows(
  store: Store,
  id: number,
  batch: { firstRow: number; key: string; lines: readonly string[]; lastTimeS: number },
): Promise<void> {
  const { firstRow, key, lines, lastTimeS } = batch;
  await store.db
    .insertInto('LiveStackLogBatch')
    .values({ liveStackLogId: id, firstRow, key, rows: lines.join('\n') })
    .execute();
  await store.db
    .updateTable('LiveStackLog')
    .set({ rowCount: firstRow + lines.length, lastTimeS })
    .where('id', '=', id)
    .execute();
}

/** All lines of a log in the order of its rows. */
export async function readLiveRows(store: Store, id: number): Promise<string[]> {
  const batches = await store.db
    .selectFrom('LiveStackLogBatch')
    .select('rows')
    .where('liveStackLogId', '=', id)
    .orderBy('firstRow')
    .execute();
  return batches.map(({ rows }) => rows);
}

/** Notes what an open log of so many rows became; false where it has others by now, or is closed. */
export async function closeLiveStackLog(
  store: Store,
  id: number,
  { rowCount, stackLogId, closedAt }: { rowCount: number; stackLogId: number; closedAt: string },
): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('LiveStackLog')
    .set({ stackLogId, closedAt })
    .where('id', '=', id)
    .where('rowCount', '=', rowCount)
    .where('closedAt', 'is', null)
    .executeTakeFirst();
  if (numUpdatedRows === 0n) return false;
  // The file that they became is kept with its record.
  await store.db.deleteFrom('LiveStackLogBatch').where('liveStackLogId', '=', id).execute();
  return true;
}
