import { z } from 'zod';
import type { Page } from '../contract/common.ts';
import { type Job, type JobKind, type JobState, jobResults } from '../contract/jobs.ts';
import { laneOf } from './jobLanes.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

const document = z.record(z.string(), z.unknown());

interface JobRow
  extends Omit<Job, 'input' | 'result' | 'cancelRequested' | 'remainingS' | 'progress' | 'progressText'> {
  readonly inputJson: string;
  readonly resultJson: string | null;
  readonly cancelRequested: number;
  readonly heartbeatAt: string | null;
  readonly progress: number | null;
  readonly progressText: string | null;
}

/** Columns of `Job`; how far it is comes from `JobProgress`. */
const jobColumns = [
  'id',
  'kind',
  'state',
  'inputJson',
  'resultJson',
  'error',
  'attempts',
  'cancelRequested',
  'createdAt',
  'createdBy',
  'startedAt',
  'finishedAt',
] as const;

export function presentJob(row: JobRow): Job {
  const { inputJson, resultJson, cancelRequested, heartbeatAt, ...rest } = row;
  const job = {
    ...rest,
    progress: row.state === 'done' ? 1 : (row.progress ?? 0),
    progressText: row.progressText ?? '',
  };
  return {
    ...job,
    cancelRequested: cancelRequested !== 0,
    remainingS: remaining(job, heartbeatAt),
    input: parseStored(document, inputJson, `input of job ${job.id}`),
    // While a job runs, this holds what it has done so far, for its next run alone.
    result:
      job.state === 'done' && resultJson !== null
        ? parseStored(jobResults[job.kind], resultJson, `result of job ${job.id}`)
        : null,
    // Each kind's result was read by its own schema.
  } as Job;
}

/** The time that is left if the rest goes on as the part that is done. */
function remaining(job: Pick<Job, 'state' | 'progress' | 'startedAt'>, at: string | null): number | null {
  if (job.state !== 'running' || job.startedAt === null || at === null || job.progress < 0.02) return null;
  const elapsedS = (Date.parse(at) - Date.parse(job.startedAt)) / 1000;
  return Math.max(0, (elapsedS * (1 - job.progress)) / job.progress);
}

/** Jobs with how far they are. */
export function jobsWithProgress(store: Store) {
  return store.db
    .selectFrom('Job as j')
    .leftJoin('JobProgress as p', 'p.jobId', 'j.id')
    .select(jobColumns.map((column) => `j.${column}` as const))
    .select(['p.heartbeatAt', 'p.progress', 'p.progressText']);
}

/** Says to those who run jobs that one waits; in the transaction that makes it wait. */
export async function announceJob(tx: Store, id: number, kind: JobKind): Promise<void> {
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
    await announceJob(tx, id, job.kind);
    return id;
  });
}

export async function findJob(store: Store, id: number): Promise<Job | null> {
  const row = await jobsWithProgress(store).where('j.id', '=', id).executeTakeFirst();
  return row === undefined ? null : presentJob(row);
}

/** A page of the jobs, newest first. */
export async function pageJobs(
  store: Store,
  query: { cursor?: string; limit: number; state?: JobState; kind?: JobKind },
): Promise<Page<Job>> {
  const { state, kind, cursor, limit } = query;
  return readPage<JobRow, Job>(store, {
    matching: matchingIds(store.db.selectFrom('Job').select('id'), { state, kind }),
    rows: (ids) => jobsWithProgress(store).where('j.id', 'in', ids).execute(),
    present: presentJob,
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
      })
      .where('id', '=', id)
      .where('state', 'in', ['failed', 'cancelled'])
      .returning('kind')
      .executeTakeFirst();
    if (again === undefined) return false;
    await tx.db.deleteFrom('JobProgress').where('jobId', '=', id).execute();
    await announceJob(tx, id, again.kind);
    return true;
  });
}
