import { hostname } from 'node:os';
import type { Context } from '../context.ts';
import { nowText } from '../context.ts';
import type { Job, JobKind } from '../contract/jobs.ts';
import { notFound, Refusal } from '../errors.ts';
import { findJob, insertJob, requestCancel, requeueJob } from '../store/jobs.ts';
import { isProcessAlive } from '../store/processAlive.ts';
import { giveUpRun, listRunningJobs } from '../store/runningJobs.ts';
import type { Store } from '../store/store.ts';
import type { JobInput } from './inputs.ts';

/** A worker that gave no sign for this long is taken for dead. */
const silentMs = 120_000;

/** Puts a job into the queue. */
export async function putJob<Kind extends JobKind>(
  context: Context,
  kind: Kind,
  input: JobInput<Kind>,
): Promise<Job> {
  const id = await insertJob(context.store, {
    kind,
    input,
    createdAt: nowText(context),
    createdBy: context.actor.name,
  });
  return (await findJob(context.store, id)) as Job;
}

/** Asks a job to stop. @throws Refusal `not-found`, `conflict` where it has ended */
export async function cancelJob(context: Context, id: number): Promise<Job> {
  const job = await findJob(context.store, id);
  if (job === null) throw notFound('job', id);
  if (!(await requestCancel(context.store, id, nowText(context)))) {
    throw new Refusal('conflict', `Job ${id} has ended already: ${job.state}.`);
  }
  return (await findJob(context.store, id)) as Job;
}

/** Lets a job that failed or was cancelled start again. @throws Refusal `not-found`, `conflict` */
export async function retryJob(context: Context, id: number): Promise<Job> {
  const job = await findJob(context.store, id);
  if (job === null) throw notFound('job', id);
  if (!(await requeueJob(context.store, id))) {
    throw new Refusal(
      'conflict',
      `Job ${id} is ${job.state}; only a failed or cancelled job can be tried again.`,
    );
  }
  return (await findJob(context.store, id)) as Job;
}

/** Whether a worker of this machine has ended; workers of other machines are not visible here. */
function isGone(workerId: string): boolean {
  const [host, pid] = workerId.split(':');
  if (host !== hostname()) return false;
  return Number(pid) === process.pid || !isProcessAlive(Number(pid));
}

/**
 * Finds jobs whose worker is gone: its process ended, or it gave no sign for two minutes. They start again, or fail
 * where they were tried often enough.
 *
 * @param ownRuns identifiers of the jobs that this process runs; at its start none
 */
export async function recoverJobs(store: Store, now: Date, ownRuns: ReadonlySet<number>): Promise<number> {
  let recovered = 0;
  for (const { id, workerId, heartbeatAt } of await listRunningJobs(store)) {
    if (ownRuns.has(id)) continue;
    const gone = isGone(workerId);
    if (!gone && now.getTime() - Date.parse(heartbeatAt) < silentMs) continue;
    await giveUpRun(store, id, workerId, now.toISOString(), 'The service ended while the job ran.');
    recovered++;
  }
  return recovered;
}
