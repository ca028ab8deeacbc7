import { z } from 'zod';
import type { Page } from '../contract/common.ts';
import type { Job, JobKind, JobState } from '../contract/jobs.ts';
import { numbersIn } from './differences.ts';
import { type JobLane, laneOf } from './jobLanes.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

const document = z.record(z.string(), z.unknown());

interface JobRow extends Omit<Job, 'input' | 'result' | 'cancelRequested' | 'remainingS'> {
  readonly inputJson: string;
  readonly resultJson: string | null;
  readonly cancelRequested: number;
  readonly heartbeatAt: string | null;
}

const columns = [
  'id',
  'kind',
  'state',
  'inputJson',
  'resultJson',
  'error',
  'progress',
  'progressText',
  'attempts',
  'cancelRequested',
  'createdAt',
  'createdBy',
  'startedAt',
  'finishedAt',
  'heartbeatAt',
] as const;

function present(row: JobRow): Job {
  const { inputJson, resultJson, cancelRequested, heartbeatAt, ...job } = row;
  return {
    ...job,
    cancelRequested: cancelRequested !== 0,
    remainingS: remaining(job, heartbeatAt),
    input: parseStored(document, inputJson, `input of job ${job.id}`),
    // While a job runs, this holds what it has done so far, for its next run alone.
    result:
      job.state === 'done' && resultJson !== null
        ? parseStored(document, resultJson, `result of job ${job.id}`)
        : null,
  };
}

/** The time that is left if the rest goes on as the part that is done. */
function remaining(job: Pick<Job, 'state' | 'progress' | 'startedAt'>, at: string | null): number | null {
  if (job.state !== 'running' || job.startedAt === null || at === null || job.progress < 0.02) return null;
  const elapsedS = (Date.parse(at) - Date.parse(job.startedAt)) / 1000;
  return Math.max(0, (elapsedS * (1 - job.progress)) / job.progress);
}

/** Says to those who run jobs that one waits; in the transaction that makes it wait. */
async function announce(tx: Store, id: number, kind: JobKind): Promise<void> {
  if (tx.place.kind === 'sqlite') return;
  const { sendWaiting } = await import('./bossDelivery.ts');
  await sendWaiting(tx, id, laneOf(kind));
}

/** Puts a job into the queue; returns its identifier. */
export async function insertJob(
  store: Store,
  { input, ...job }: { kind: JobKind; input: unknown; createdAt: string; createdBy: string },
): Promise<number> {
  return store.transaction(async (tx) => {
    const { id } = await tx.db
      .insertInto('Job')
      .values({ ...job, inputJson: JSON.stringify(input) })
      .returning('id')
      .executeTakeFirstOrThrow();
    await announce(tx, id, job.kind);
    return id;
  });
}

export async function findJob(store: Store, id: number): Promise<Job | null> {
  const row = await store.db.selectFrom('Job').select(columns).where('id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** A page of the jobs, newest first. */
export async function pageJobs(
  store: Store,
  query: { cursor?: string; limit: number; state?: JobState; kind?: JobKind },
): Promise<Page<Job>> {
  const { state, kind, cursor, limit } = query;
  return readPage<JobRow, Job>(store, {
    matching: matchingIds(store.db.selectFrom('Job').select('id'), { state, kind }),
    rows: (ids) => store.db.selectFrom('Job').select(columns).where('id', 'in', ids).execute(),
    present,
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}

/** How many jobs wait or run. */
export async function countOpenJobs(store: Store): Promise<number> {
  const { n } = await store.db
    .selectFrom('Job')
    .select(({ fn }) => fn.countAll<number>().as('n'))
    .where('state', 'in', ['waiting', 'running'])
    .executeTakeFirstOrThrow();
  return n;
}

/** The oldest job of a lane that waits; null where none does. A read alone, which no writer holds up. */
export async function findWaitingJob(store: Store, lane: JobLane, at: string): Promise<number | null> {
  const row = await store.db
    .selectFrom('Job')
    .select('id')
    .where('state', '=', 'waiting')
    .where('kind', lane === 'backup' ? '=' : '<>', 'backup')
    .where(({ or, eb }) => or([eb('notBefore', 'is', null), eb('notBefore', '<=', at)]))
    .orderBy('id')
    .limit(1)
    .executeTakeFirst();
  return row?.id ?? null;
}

/** All jobs that wait. */
export async function listWaitingJobs(store: Store): Promise<{ id: number; kind: JobKind }[]> {
  return store.db
    .selectFrom('Job')
    .select(['id', 'kind'])
    .where('state', '=', 'waiting')
    .orderBy('id')
    .execute();
}

/**
 * Takes a waiting job for a worker. One statement, so that two takers never get the same job.
 *
 * @returns null where it does not wait any more
 */
export async function takeJob(store: Store, id: number, workerId: string, at: string): Promise<Job | null> {
  const taken = await store.db
    .updateTable('Job')
    .set(({ eb }) => ({
      state: 'running',
      workerId,
      attempts: eb('attempts', '+', 1),
      startedAt: at,
      heartbeatAt: at,
      progress: 0,
      progressText: '',
      error: null,
    }))
    .where('id', '=', id)
    .where('state', '=', 'waiting')
    .returning(columns)
    .executeTakeFirst();
  return taken === undefined ? null : present(taken);
}

/** Notes how far a job is, and that its worker is alive; tells whether it is to be cancelled. */
export async function noteProgress(
  store: Store,
  id: number,
  workerId: string,
  at: string,
  progress: { share: number; text: string } | null,
): Promise<{ cancelRequested: boolean }> {
  const row = await store.db
    .updateTable('Job')
    .set({
      heartbeatAt: at,
      ...(progress === null ? {} : { progress: progress.share, progressText: progress.text }),
    })
    .where('id', '=', id)
    .where('workerId', '=', workerId)
    .where('state', '=', 'running')
    .returning('cancelRequested')
    .executeTakeFirst();
  // A job that was taken from this worker, because it seemed dead, must not go on either.
  return { cancelRequested: row === undefined || row.cancelRequested !== 0 };
}

/** Those of the given jobs that are to be cancelled. */
export async function listCancelRequested(store: Store, ids: readonly number[]): Promise<number[]> {
  const rows = await store.db
    .selectFrom('Job')
    .select('id')
    .where('cancelRequested', '<>', 0)
    .where('id', 'in', numbersIn(ids))
    .execute();
  return rows.map(({ id }) => id);
}

/** What a running job noted of its result so far, as JSON; null where nothing. */
export async function findPartResult(store: Store, id: number): Promise<string | null> {
  const row = await store.db.selectFrom('Job').select('resultJson').where('id', '=', id).executeTakeFirst();
  return row?.resultJson ?? null;
}

/** Notes the result so far; false where the job is not this worker's any more. */
export async function notePartResult(
  store: Store,
  id: number,
  workerId: string,
  resultJson: string,
): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('Job')
    .set({ resultJson })
    .where('id', '=', id)
    .where('workerId', '=', workerId)
    .where('state', '=', 'running')
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}

/** Closes a running job; false where it is not this worker's any more. */
export async function finishJob(
  store: Store,
  id: number,
  workerId: string,
  at: string,
  end: { state: 'done'; result: unknown } | { state: 'failed' | 'cancelled'; error: string },
): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('Job')
    .set({
      state: end.state,
      ...(end.state === 'done'
        ? { resultJson: JSON.stringify(end.result ?? {}), error: null, progress: 1 }
        : // What it noted of its result stays for a further attempt: it is stored.
          { error: end.error }),
      finishedAt: at,
      heartbeatAt: at,
    })
    .where('id', '=', id)
    .where('workerId', '=', workerId)
    .where('state', '=', 'running')
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}

/** Asks for a job to stop: one that waits is cancelled at once, one that runs at its next step. */
export async function requestCancel(store: Store, id: number, at: string): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('Job')
    .set(({ eb, ref }) => ({
      cancelRequested: 1,
      state: eb
        .case()
        .when('state', '=', 'waiting')
        .then('cancelled' as const)
        .else(ref('state'))
        .end(),
      finishedAt: eb.case().when('state', '=', 'waiting').then(at).else(ref('finishedAt')).end(),
    }))
    .where('id', '=', id)
    .where('state', 'in', ['waiting', 'running'])
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}

/** Puts a job that failed or was cancelled back into the queue. */
export async function requeueJob(store: Store, id: number): Promise<boolean> {
  return store.transaction(async (tx) => {
    const again = await tx.db
      .updateTable('Job')
      .set({
        state: 'waiting',
        cancelRequested: 0,
        error: null,
        finishedAt: null,
        startedAt: null,
        workerId: null,
        attempts: 0,
        progress: 0,
        progressText: '',
      })
      .where('id', '=', id)
      .where('state', 'in', ['failed', 'cancelled'])
      .returning('kind')
      .executeTakeFirst();
    if (again !== undefined) await announce(tx, id, again.kind);
    return again !== undefined;
  });
}

/** A job that runs, with who runs it and when that one last gave a sign. */
export interface RunningJob {
  readonly id: number;
  readonly workerId: string;
  readonly heartbeatAt: string;
}

/** Running jobs with the worker that runs them. */
export async function listRunningJobs(store: Store): Promise<RunningJob[]> {
  return store.db
    .selectFrom('Job')
    .select(['id', 'workerId', 'heartbeatAt'])
    .where('state', '=', 'running')
    .where('workerId', 'is not', null)
    .where('heartbeatAt', 'is not', null)
    .$narrowType<{ workerId: string; heartbeatAt: string }>()
    .orderBy('id')
    .execute();
}

/** A job whose worker is gone starts again, or fails where it was tried often enough. */
export async function giveUpRun(
  store: Store,
  id: number,
  workerId: string,
  at: string,
  error: string,
): Promise<void> {
  await store.transaction(async (tx) => {
    const { db } = tx;
    const run = db
      .selectFrom('Job')
      .where('id', '=', id)
      .where('workerId', '=', workerId)
      .where('state', '=', 'running');
    const job = await run.select(['kind', 'cancelRequested', 'attempts', 'maxAttempts']).executeTakeFirst();
    if (job === undefined) return;
    const again = job.cancelRequested === 0 && job.attempts < job.maxAttempts;
    await db
      .updateTable('Job')
      .set({
        error,
        workerId: null,
        state: again ? 'waiting' : job.cancelRequested !== 0 ? 'cancelled' : 'failed',
        finishedAt: again ? null : at,
      })
      .where('id', '=', id)
      .execute();
    if (again) await announce(tx, id, job.kind);
  });
}
