import { setTimeout as delay } from 'node:timers/promises';
import type { Context } from '../../context.ts';
import { inTransaction, nowText } from '../../context.ts';
import type { LiveState, OpenLiveTest } from '../../contract/liveRecords.ts';
import { notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import { pauseMs } from '../../store/incomingFiles.ts';
import type { LiveRecord } from '../../store/liveRecords.ts';
import {
  findLiveRecord,
  forgetBatches,
  insertLiveTest,
  readTimeSpan,
  sealLiveTest,
} from '../../store/liveRecords.ts';
import type { StoredColumn } from '../../store/records.ts';
import type { Store } from '../../store/store.ts';

const columns: readonly StoredColumn[] = [
  { role: 'time', name: 'time', unit: 's' },
  { role: 'voltage', name: 'voltage', unit: 'V' },
  { role: 'current', name: 'current', unit: 'A' },
];

/** Opens a test of a cell that takes samples as they come. @throws Refusal `not-found` */
export async function openLiveTest(context: Context, cellId: number, body: OpenLiveTest): Promise<LiveState> {
  const { store } = context;
  if ((await findCell(store, cellId)) === null) throw notFound('cell', cellId);
  const at = nowText(context);
  const { withTemperature, ...test } = body;
  const testId = await inTransaction(context, async (context) => {
    const made = await insertLiveTest(context.store, { ...test, cellId, at }, [
      ...columns,
      ...(withTemperature ? [{ role: 'temperature', name: 'temperature', unit: 'Cel' } as const] : []),
    ]);
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'test.opened',
      subjectKind: 'test',
      subjectId: made,
    });
    return made;
  });
  return readLiveTest(context, testId);
}

/** How far a test is, so that a sender that was cut off knows where to go on. @throws Refusal `not-found` */
export async function readLiveTest(context: Context, testId: number): Promise<LiveState> {
  const record = await findLiveRecord(context.store, testId);
  if (record === null) throw notFound('test with a live record', testId);
  return stateOf(context, record);
}

/** A sender repeats what it has no answer to, its last batches; identifiers of those with one of so many last rows are kept. */
const keptRows = 10_000;
const forgottenAtATime = 500;
const forgetsForMs = 2000;

/**
 * Closes a test: it takes no more samples and can be evaluated. Of its batches only the last are known again by their
 * identifiers from now on; an earlier one is refused as any that comes too late. Closing it again changes nothing.
 *
 * @throws Refusal `not-found`, `conflict`
 */
export async function closeLiveTest(context: Context, testId: number): Promise<LiveState> {
  const closed = await close(context, testId);
  await forgetEarlierBatches(context, closed);
  return closed;
}

/** In pieces between which others write, and not for long: a year of batches each second is many. Closing again goes on. */
async function forgetEarlierBatches({ store }: Context, { testId, rowCount }: LiveState): Promise<void> {
  const began = performance.now();
  const forget = (tx: Store) => forgetBatches(tx, testId, rowCount - keptRows, forgottenAtATime);
  while ((await store.transaction(forget, 'snapshot')) && performance.now() - began < forgetsForMs)
    await delay(pauseMs);
}

async function close(context: Context, testId: number): Promise<LiveState> {
  return inTransaction(context, async (context) => {
    const record = await findLiveRecord(context.store, testId);
    if (record === null) throw notFound('test with a live record', testId);
    if (record.rowCount === 0) throw new Refusal('conflict', `Test ${testId} has no samples yet.`);
    if (await sealLiveTest(context.store, record)) {
      await insertAudit(context.store, {
        at: nowText(context),
        actor: context.actor.name,
        action: 'test.sealed',
        subjectKind: 'test',
        subjectId: testId,
      });
    }
    return stateOf(context, (await findLiveRecord(context.store, testId)) as LiveRecord);
  });
}

async function stateOf(context: Context, record: LiveRecord): Promise<LiveState> {
  return {
    testId: record.testId,
    state: record.state,
    rowCount: record.rowCount,
    lastTimeS: (await readTimeSpan(context.store, record.recordId))?.lastS ?? null,
    repeated: false,
  };
}
