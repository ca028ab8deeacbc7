import type { Context } from '../../context.ts';
import { inTransaction, nowText } from '../../context.ts';
import type { LiveSamples, LiveState, OpenLiveTest } from '../../contract/liveRecords.ts';
import type { ErrorPlace } from '../../errors.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { defaultLimits } from '../../import/limits.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import type { LiveRecord } from '../../store/liveRecords.ts';
import {
  appendSamples,
  claimRecord,
  findLiveRecord,
  hasLiveBatch,
  insertLiveTest,
  readTimeSpan,
  sealLiveTest,
} from '../../store/liveRecords.ts';
import { findPlausibleLimits } from '../../store/plausibleLimits.ts';
import type { StoredColumn } from '../../store/records.ts';
import { storeTogether } from './storeTogether.ts';

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
  return stateOf(context, record, false);
}

/**
 * Appends a batch of samples. It is on the disk when this returns. Batches that come while others are being stored are
 * stored together after them, as one transaction. The same key again stores nothing and answers as before, so a sender
 * that got no answer simply sends again.
 *
 * @throws Refusal `conflict` where the test is closed or the batch does not begin where the record ends,
 *   `invalid-request` naming sample and column
 */
export function appendLiveSamples(
  context: Context,
  testId: number,
  key: string,
  samples: LiveSamples,
): Promise<LiveState> {
  return storeTogether(context, testId, (tx) => appendBatch(tx, testId, key, samples));
}

/** Stores one batch inside a transaction. What is refused has changed nothing. */
async function appendBatch(
  context: Context,
  testId: number,
  key: string,
  samples: LiveSamples,
): Promise<LiveState> {
  const { store } = context;
  const record = await findLiveRecord(store, testId);
  if (record === null) throw notFound('test with a live record', testId);
  // The record's row, which every batch and the closing change, holds everything that a batch depends on.
  await claimRecord(store, record);
  if (await hasLiveBatch(store, testId, key)) return stateOf(context, record, true);
  if (record.state !== 'open')
    throw new Refusal('conflict', `Test ${testId} is closed and takes no more samples.`);
  if (samples.firstRow !== record.rowCount) {
    throw new Refusal(
      'conflict',
      `Test ${testId} has ${record.rowCount} rows, so the batch cannot begin at ${samples.firstRow}.`,
      [fieldError('firstRow', samples.firstRow, 'is not where the record ends', String(record.rowCount))],
    );
  }
  const span = await readTimeSpan(store, record.recordId);
  const values = await checkSamples(context, record, samples, span?.lastS ?? Number.NEGATIVE_INFINITY);
  const { timeS } = samples;
  await appendSamples(store, record, values, {
    key,
    at: nowText(context),
    firstS: span?.firstS ?? timeS[0],
  });
  const rowCount = record.rowCount + timeS.length;
  return { testId, state: 'open', rowCount, lastTimeS: timeS[timeS.length - 1], repeated: false };
}

/** Closes a test: it takes no more samples and can be evaluated. @throws Refusal `not-found`, `conflict` */
export async function closeLiveTest(context: Context, testId: number): Promise<LiveState> {
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
    return stateOf(context, (await findLiveRecord(context.store, testId)) as LiveRecord, false);
  });
}

async function stateOf(context: Context, record: LiveRecord, repeated: boolean): Promise<LiveState> {
  return {
    testId: record.testId,
    state: record.state,
    rowCount: record.rowCount,
    lastTimeS: (await readTimeSpan(context.store, record.recordId))?.lastS ?? null,
    repeated,
  };
}

/** The samples in storage order, or the refusal that names the first wrong one. */
async function checkSamples(
  context: Context,
  record: LiveRecord,
  samples: LiveSamples,
  lastTimeS: number,
): Promise<Float64Array[]> {
  const limits = { ...defaultLimits, ...(await findPlausibleLimits(context.store, record.lotId)) };
  const fields = {
    time: 'timeS',
    voltage: 'voltageV',
    current: 'currentA',
    temperature: 'temperatureC',
  } as const;
  const ranges = {
    time: [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY],
    voltage: [limits.voltageMinV, limits.voltageMaxV],
    current: [-limits.currentMaxA, limits.currentMaxA],
    temperature: [limits.temperatureMinC, limits.temperatureMaxC],
  } as const;
  const hasTemperature = record.columns.some(({ role }) => role === 'temperature');
  if (hasTemperature !== (samples.temperatureC !== undefined)) {
    throw wrong(
      'temperatureC',
      null,
      null,
      hasTemperature ? 'is missing' : 'was not announced when the test was opened',
    );
  }
  let last = lastTimeS;
  samples.timeS.forEach((timeS, i) => {
    if (timeS < last) throw wrong('timeS', i, timeS, `time runs backwards, from ${last} s`);
    last = timeS;
  });
  return record.columns.map(({ role }) => {
    const name = role as keyof typeof fields;
    const values = samples[fields[name]] as number[];
    if (values.length !== samples.timeS.length) {
      throw wrong(
        fields[name],
        null,
        values.length,
        `has another length than timeS, which has ${samples.timeS.length}`,
      );
    }
    const [min, max] = ranges[name];
    const at = values.findIndex((value) => !(value >= min && value <= max));
    if (at >= 0) throw wrong(fields[name], at, values[at], `is outside ${min} to ${max}`);
    return Float64Array.from(values);
  });
}

function wrong(field: string, row: number | null, value: number | null, reason: string): Refusal {
  const place: ErrorPlace = {
    field,
    row,
    value: value === null ? null : String(value),
    reason,
    expected: 'samples in the order of time, in s, V, A and °C',
  };
  return new Refusal('invalid-request', `The samples cannot be taken: ${field} ${reason}.`, [place]);
}
