import { type Context, inTransaction, nowText } from '../../context.ts';
import type { LiveSamples, LiveState } from '../../contract/liveRecords.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import {
  findLiveRecordsOf,
  findStoredKeys,
  growTail,
  keyOf,
  type LiveBatchRow,
  type LiveGrowth,
  type LiveRecordNow,
  type LiveTail,
  mergeGrowths,
  readTails,
  storeGrowth,
} from '../../store/liveTails.ts';
import { findPlausibleLimits, type PlausibleLimits } from '../../store/plausibleLimits.ts';
import type { Store } from '../../store/store.ts';
import { checkLiveSamples } from './checkLiveSamples.ts';
import { type Outcome, outcomeOf, storeInGroups } from './storeInGroups.ts';

/** Tails that are kept between batches; of more, the one that was used longest ago is read again. */
const mostTails = 2000;

/** One batch of a test's samples. `key` is the sender's, another for each batch. */
export interface LiveBatch {
  readonly testId: number;
  readonly key: string;
  readonly samples: LiveSamples;
}

const tailsOf = new WeakMap<Store, Map<number, LiveTail>>();

/**
 * Appends a batch of samples. It is on the disk when this returns. Batches of all tests that come while others are being
 * stored are stored together after them, as one transaction. The same key again stores nothing and answers as before, so
 * a sender that got no answer simply sends again.
 *
 * @throws Refusal `not-found`; `conflict` where the test is closed or the batch does not begin where the record ends;
 *   `invalid-request` naming sample and column
 */
export const appendLiveSamples: (context: Context, batch: LiveBatch) => Promise<LiveState> =
  storeInGroups(storeBatches);

async function storeBatches(
  context: Context,
  batches: readonly LiveBatch[],
): Promise<readonly Outcome<LiveState>[]> {
  const kept = tailsOf.get(context.store) ?? new Map<number, LiveTail>();
  tailsOf.set(context.store, kept);
  const touched = new Set<number>();
  try {
    const { outcomes, tails } = await inTransaction(
      context,
      async (tx) => {
        const group = await readGroup(tx.store, batches, kept);
        for (const recordId of group.tails.keys()) touched.add(recordId);
        const outcomes = await inOrder(batches, (batch) => outcomeOf(() => takeBatch(group, batch, tx)));
        await storeGrowth(tx.store, [...group.growths.values()], group.taken);
        return { outcomes, tails: group.tails };
      },
      'snapshot',
    );
    for (const [recordId, tail] of tails) {
      // Put at the end, so that the first one is the one that was used longest ago.
      kept.delete(recordId);
      kept.set(recordId, tail);
    }
    for (const recordId of kept.keys()) {
      if (kept.size <= mostTails) break;
      kept.delete(recordId);
    }
    return outcomes;
  } catch (error) {
    for (const recordId of touched) kept.delete(recordId);
    throw error;
  }
}

/** A group while it is looked through: what the database has, and what its batches have added so far. */
interface Group {
  readonly records: ReadonlyMap<number, LiveRecordNow>;
  readonly limits: ReadonlyMap<number, PlausibleLimits>;
  readonly stored: Set<string>;
  readonly tails: Map<number, LiveTail>;
  readonly growths: Map<number, LiveGrowth>;
  readonly taken: LiveBatchRow[];
}

async function readGroup(
  store: Store,
  batches: readonly LiveBatch[],
  kept: ReadonlyMap<number, LiveTail>,
): Promise<Group> {
  const records = await findLiveRecordsOf(
    store,
    batches.map(({ testId }) => testId),
  );
  const tails = new Map<number, LiveTail>();
  const unknown: LiveRecordNow[] = [];
  for (const record of records.values()) {
    const tail = kept.get(record.recordId);
    // Another process, or a restored backup, may have made it another length.
    if (tail?.rowCount === record.rowCount) tails.set(record.recordId, tail);
    else unknown.push(record);
  }
  for (const [recordId, tail] of await readTails(store, unknown)) tails.set(recordId, tail);
  const lots = new Set([...records.values()].map(({ lotId }) => lotId));
  const limits = await inOrder(
    lots,
    async (lotId) => [lotId, await findPlausibleLimits(store, lotId)] as const,
  );
  const stored = await findStoredKeys(store, batches);
  return { records, tails, stored, limits: new Map(limits), growths: new Map(), taken: [] };
}

/** Adds one batch to a group. What is refused has changed nothing. */
function takeBatch(group: Group, { testId, key, samples }: LiveBatch, context: Context): LiveState {
  const record = group.records.get(testId);
  if (record === undefined) throw notFound('test with a live record', testId);
  const { recordId, state, lotId } = record;
  const tail = group.tails.get(recordId);
  const limits = group.limits.get(lotId);
  if (tail === undefined || limits === undefined)
    throw new Error(`The record ${recordId} was not read with its group.`);
  const { rowCount, lastS } = tail;
  if (group.stored.has(keyOf(testId, key)))
    return { testId, state, rowCount, lastTimeS: lastS, repeated: true };
  if (state !== 'open') throw new Refusal('conflict', `Test ${testId} is closed and takes no more samples.`);
  const { firstRow, timeS } = samples;
  if (firstRow !== rowCount) {
    throw new Refusal(
      'conflict',
      `Test ${testId} has ${rowCount} rows, so the batch cannot begin at ${firstRow}.`,
      [fieldError('firstRow', firstRow, 'is not where the record ends', String(rowCount))],
    );
  }
  const growth = growTail(tail, checkLiveSamples(tail.columns, samples, lastS, limits));
  const earlier = group.growths.get(recordId);
  group.growths.set(recordId, earlier === undefined ? growth : mergeGrowths(earlier, growth));
  group.tails.set(recordId, growth.after);
  group.stored.add(keyOf(testId, key));
  group.taken.push({ testId, key, firstRow, rowCount: timeS.length, receivedAt: nowText(context) });
  return {
    testId,
    state,
    rowCount: growth.after.rowCount,
    lastTimeS: growth.after.lastS,
    repeated: false,
  };
}
