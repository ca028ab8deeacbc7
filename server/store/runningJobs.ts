import type { Job, JobKind } from '../contract/jobs.ts';
import { numbersIn } from './differences.ts';
import type { JobLane } from './jobLanes.ts';
import { announceJob, jobsWithProgress, presentJob } from './jobs.ts';
import type { Store } from './store.ts';

// What those who run jobs read and store of them.

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
 * Takes a waiting job for a worker; two takers never get the same job.
 *
 * @returns null where it does not wait any more
 */
export async function takeJob(store: Store, id: number, workerId: string, at: string): Promise<Job | null> {
  return store.transaction(async (tx) => {
    const { numUpdatedRows } = await tx.db
      .updateTable('Job')
      .set(({ eb }) => ({
        state: 'running',
        workerId,
        attempts: eb('attempts', '+', 1),
        startedAt: at,
        error: null,
      }))
      .where('id', '=', id)
      .where('state', '=', 'waiting')
      .executeTakeFirstOrThrow();
    if (numUpdatedRows !== 1n) return null;
    const run = { workerId, heartbeatAt: at, progress: 0, progressText: '' };
    await tx.db
      .insertInto('JobProgress')
      .values({ jobId: id, ...run })
      .onConflict((known) => known.column('jobId').doUpdateSet(run))
      .execute();
    return presentJob(await jobsWithProgress(tx).where('j.id', '=', id).executeTakeFirstOrThrow());
  });
}

/** Notes how far a job is, and that its worker is alive; reports whether it is to be cancelled. */
export async function noteProgress(
  store: Store,
  id: number,
  workerId: string,
  at: string,
  progress: { share: number; text: string } | null,
): Promise<{ cancelRequested: boolean }> {
  await store.db
    .updateTable('JobProgress')
    .set({
      heartbeatAt: at,
      ...(progress === null ? {} : { progress: progress.share, progressText: progress.text }),
    })
    .where('jobId', '=', id)
    .where('workerId', '=', workerId)
    .execute();
  const row = await store.db
    .selectFrom('Job')
    .select('cancelRequested')
    .where('id', '=', id)
    .where('workerId', '=', workerId)
    .where('state', '=', 'running')
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
        ? { resultJson: JSON.stringify(end.result ?? {}), error: null }
        : // What it noted of its result stays for a further attempt: it is stored.
          { error: end.error }),
      finishedAt: at,
    })
    .where('id', '=', id)
    .where('workerId', '=', workerId)
    .where('state', '=', 'running')
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
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
    .selectFrom('Job as j')
    .innerJoin('JobProgress as p', 'p.jobId', 'j.id')
    .select(['j.id', 'p.workerId', 'p.heartbeatAt'])
    .where('j.state', '=', 'running')
    .orderBy('j.id')
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
    if (again) await announceJob(tx, id, job.kind);
  });
}
