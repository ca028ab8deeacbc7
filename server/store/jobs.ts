import { z } from 'zod';
import type { Page } from '../contract/common.ts';
import type { Job, JobKind, JobState } from '../contract/jobs.ts';
import { equalTo, readPage } from './page.ts';
import type { SqlStore, Store } from './store.ts';
import { parseStored } from './storedJson.ts';

const document = z.record(z.string(), z.unknown());

interface JobRow extends Omit<Job, 'input' | 'result' | 'cancelRequested' | 'remainingS'> {
  readonly inputJson: string;
  readonly resultJson: string | null;
  readonly cancelRequested: number;
  readonly heartbeatAt: string | null;
}

const columns = `id, kind, state, inputJson, resultJson, error, progress, progressText, attempts, cancelRequested,
  createdAt, createdBy, startedAt, finishedAt, heartbeatAt`;

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

/** Puts a job into the queue; returns its identifier. */
export async function insertJob(
  store: SqlStore,
  job: { kind: JobKind; input: unknown; createdAt: string; createdBy: string },
): Promise<number> {
  return (
    await store.run(
      'INSERT INTO Job (kind, inputJson, createdAt, createdBy) VALUES (?, ?, ?, ?)',
      job.kind,
      JSON.stringify(job.input),
      job.createdAt,
      job.createdBy,
    )
  ).id;
}

export async function findJob(store: SqlStore, id: number): Promise<Job | null> {
  const row = await store.get<JobRow>(`SELECT ${columns} FROM Job WHERE id = ?`, id);
  return row === undefined ? null : present(row);
}

/** A page of the jobs, newest first. */
export async function pageJobs(
  store: Store,
  query: { cursor?: string; limit: number; state?: JobState; kind?: JobKind },
): Promise<Page<Job>> {
  const { state, kind } = query;
  return readPage<JobRow, Job>(
    store,
    {
      select: columns,
      from: 'Job',
      ...equalTo({ state, kind }),
      idColumn: 'id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => present(row),
  );
}

/** Backups wait for nothing but the disk, so they run beside the other jobs instead of before them. */
export type JobLane = 'work' | 'backup';

const inLane: Record<JobLane, string> = { work: `kind <> 'backup'`, backup: `kind = 'backup'` };

/** Whether a job waits; a read alone, which no writer holds up. */
export async function hasWaitingJob(store: SqlStore, lane: JobLane, at: string): Promise<boolean> {
  const sql = `SELECT 1 FROM Job WHERE state = 'waiting' AND ${inLane[lane]} AND (notBefore IS NULL OR notBefore <= ?) LIMIT 1`;
  return (await store.get(sql, at)) !== undefined;
}

/**
 * Takes the oldest waiting job for a worker. One statement, so that two takers never get the same job.
 *
 * @returns null where nothing waits
 */
export async function takeNextJob(
  store: SqlStore,
  lane: JobLane,
  workerId: string,
  at: string,
): Promise<Job | null> {
  const taken = await store.get<{ id: number }>(
    `UPDATE Job SET state = 'running', workerId = ?, attempts = attempts + 1, startedAt = ?, heartbeatAt = ?,
       progress = 0, progressText = '', error = NULL
     WHERE id = (SELECT id FROM Job WHERE state = 'waiting' AND ${inLane[lane]} AND (notBefore IS NULL OR notBefore <= ?)
       ORDER BY id LIMIT 1) AND state = 'waiting' RETURNING id`,
    workerId,
    at,
    at,
    at,
  );
  return taken === undefined ? null : await findJob(store, taken.id);
}

/** Notes how far a job is, and that its worker is alive; tells whether it is to be cancelled. */
export async function noteProgress(
  store: SqlStore,
  id: number,
  workerId: string,
  at: string,
  progress: { share: number; text: string } | null,
): Promise<{ cancelRequested: boolean }> {
  const row = await store.get<{ cancelRequested: number }>(
    `UPDATE Job SET heartbeatAt = ?, progress = COALESCE(?, progress), progressText = COALESCE(?, progressText)
     WHERE id = ? AND workerId = ? AND state = 'running' RETURNING cancelRequested`,
    at,
    progress?.share ?? null,
    progress?.text ?? null,
    id,
    workerId,
  );
  // A job that was taken from this worker, because it seemed dead, must not go on either.
  return { cancelRequested: row === undefined || row.cancelRequested !== 0 };
}

/** Those of the given jobs that are to be cancelled. */
export async function listCancelRequested(store: SqlStore, ids: readonly number[]): Promise<number[]> {
  return (
    await store.all<{ id: number }>(
      'SELECT id FROM Job WHERE cancelRequested AND id IN (SELECT value FROM json_each(?))',
      JSON.stringify(ids),
    )
  ).map(({ id }) => id);
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
  store: SqlStore,
  id: number,
  workerId: string,
  at: string,
  end: { state: 'done'; result: unknown } | { state: 'failed' | 'cancelled'; error: string },
): Promise<boolean> {
  return (
    (
      await store.run(
        `UPDATE Job SET state = ?, resultJson = ?, error = ?, progress = CASE WHEN ? = 'done' THEN 1 ELSE progress END,
         finishedAt = ?, heartbeatAt = ? WHERE id = ? AND workerId = ? AND state = 'running'`,
        end.state,
        end.state === 'done' ? JSON.stringify(end.result ?? {}) : null,
        end.state === 'done' ? null : end.error,
        end.state,
        at,
        at,
        id,
        workerId,
      )
    ).changes === 1
  );
}

/** Asks for a job to stop: one that waits is cancelled at once, one that runs at its next step. */
export async function requestCancel(store: SqlStore, id: number, at: string): Promise<boolean> {
  return (
    (
      await store.run(
        `UPDATE Job SET cancelRequested = 1, state = CASE state WHEN 'waiting' THEN 'cancelled' ELSE state END,
         finishedAt = CASE state WHEN 'waiting' THEN ? ELSE finishedAt END WHERE id = ? AND state IN ('waiting', 'running')`,
        at,
        id,
      )
    ).changes === 1
  );
}

/** Puts a job that failed or was cancelled back into the queue. */
export async function requeueJob(store: SqlStore, id: number): Promise<boolean> {
  return (
    (
      await store.run(
        `UPDATE Job SET state = 'waiting', cancelRequested = 0, error = NULL, finishedAt = NULL, startedAt = NULL,
         workerId = NULL, attempts = 0, progress = 0, progressText = '' WHERE id = ? AND state IN ('failed', 'cancelled')`,
        id,
      )
    ).changes === 1
  );
}

/** Running jobs with the worker that runs them. */
export async function listRunningJobs(
  store: SqlStore,
): Promise<{ id: number; workerId: string; heartbeatAt: string }[]> {
  return store.all(`SELECT id, workerId, heartbeatAt FROM Job WHERE state = 'running' ORDER BY id`);
}

/** A job whose worker is gone starts again, or fails where it was tried often enough. */
export async function giveUpRun(
  store: SqlStore,
  id: number,
  workerId: string,
  at: string,
  error: string,
): Promise<void> {
  await store.run(
    `UPDATE Job SET error = ?, workerId = NULL,
       state = CASE WHEN cancelRequested THEN 'cancelled' WHEN attempts >= maxAttempts THEN 'failed' ELSE 'waiting' END,
       finishedAt = CASE WHEN cancelRequested OR attempts >= maxAttempts THEN ? ELSE NULL END
     WHERE id = ? AND workerId = ? AND state = 'running'`,
    error,
    at,
    id,
    workerId,
  );
}
