import { availableParallelism, hostname } from 'node:os';
import { setTimeout as delay } from 'node:timers/promises';
import { MessageChannel } from 'node:worker_threads';
import type { Logger } from 'pino';
import type { Job } from '../contract/jobs.ts';
import { storageRefusal } from '../errors.ts';
import { toRefusal } from '../problem.ts';
import { type DeliveredJob, openDelivery } from '../store/delivery.ts';
import { sweepIdempotentAnswers } from '../store/idempotentAnswers.ts';
import { sweepIncomingFiles } from '../store/incomingFiles.ts';
import type { JobLane } from '../store/jobLanes.ts';
import { finishJob, listCancelRequested, noteProgress, takeJob } from '../store/runningJobs.ts';
import { sweepStagedRecords } from '../store/stagedRecords.ts';
import type { Store } from '../store/store.ts';
import { sweepUploads } from '../store/uploads.ts';
import { makeCrew } from '../threads/crew.ts';
import { makePool } from '../threads/pool.ts';
import { recoverJobs } from './queue.ts';
import type { Task, TaskProgress } from './task.ts';

const lookEveryMs = 200;
const heartbeatEveryMs = 2000;
const recoverEveryMs = 30_000;
const endAttempts = 300;
/** An upload that began longer ago than this is left over, whoever received it. */
const longestUploadMs = 24 * 3600 * 1000;

export interface RunnerParts {
  readonly store: Store;
  readonly log: Pick<Logger, 'warn' | 'info'>;
  readonly now?: () => Date;
  /** Worker threads; by default one less than the machine's cores, at least one. */
  readonly workers?: number | null;
  /** False where this process only runs jobs, and another one receives uploads. */
  readonly receives?: boolean;
}

export interface JobRunner {
  /** Looks for waiting jobs at once instead of at the next turn. */
  wake(): void;
  /** Takes no more jobs, asks the running ones to stop, and waits until they have. */
  close(): Promise<void>;
}

/** Runs the queue's jobs in worker threads until it is closed. At start, what an earlier process left is put right. */
export async function startJobRunner(parts: RunnerParts): Promise<JobRunner> {
  const { store, log } = parts;
  const now = parts.now ?? (() => new Date());
  const threads = parts.workers ?? Math.max(1, availableParallelism() - 1);
  const receivesAlone = parts.receives !== false && store.place.kind === 'sqlite';
  const swept =
    (await sweepStagedRecords(store)) +
    (await sweepIncomingFiles(store, 'all')) +
    (await sweepUploads(store, receivesAlone ? 0 : longestUploadMs));
  const recovered = await recoverJobs(store, now(), new Set());
  const delivery = await openDelivery(store);
  await delivery.remind();
  if (swept + recovered > 0) log.info({ swept, recovered }, 'left over from an earlier process');
  const crew = makeCrew(parts.workers ?? null);
  const pool = makePool(threads + 1, 'jobs/worker');
  const running = new Map<number, { lane: JobLane; stop: Int32Array; ended: Promise<void> }>();
  /** Jobs that stop because the service ends, and not because a person asked for it. */
  const leftForLater = new Set<number>();
  let closed = false;
  let unsure = false;
  let taken = 0;
  let looking: Promise<void> | null = null;

  /** One look at a time: a second one would start more jobs than there are threads. */
  function look(): Promise<void> {
    looking ??= lookNow().finally(() => {
      looking = null;
    });
    return looking;
  }

  async function lookNow(): Promise<void> {
    try {
      if (unsure) await recover();
      unsure = false;
      if (running.size > 0) {
        for (const id of await listCancelRequested(store, [...running.keys()])) {
          const job = running.get(id);
          if (job !== undefined) Atomics.store(job.stop, 0, 1);
        }
      }
      await fill('backup', 1);
      await fill('work', threads);
    } catch (error) {
      // Where the connection broke, a job may be taken that nobody runs.
      unsure = true;
      complain(error, 'the job queue cannot be read');
    }
  }

  /** Finds jobs that nobody runs any more, and says again which ones wait. */
  async function recover(): Promise<void> {
    await recoverJobs(store, now(), new Set(running.keys()));
    await delivery.remind();
  }

  /** Starts jobs of a lane until as many run as may. */
  async function fill(lane: JobLane, most: number): Promise<void> {
    const runs = () => [...running.values()].filter((each) => each.lane === lane).length;
    while (!closed && runs() < most) {
      const delivered = await delivery.next(lane, now().toISOString());
      if (delivered === null) return;
      const workerId = `${hostname()}:${process.pid}:${++taken}`;
      const job = await takeJob(store, delivered.id, workerId, now().toISOString());
      if (job === null) await delivered.ended();
      else start(job, lane, workerId, delivered);
    }
  }

  /** A busy database is tried again at the next turn; a read-only one must not end the service either. */
  function complain(error: unknown, what: string): void {
    if (storageRefusal(error)?.code !== 'storage-busy') log.warn({ error: String(error) }, what);
  }

  function start(job: Job, lane: JobLane, workerId: string, delivered: DeliveredJob): void {
    const stop = new Int32Array(new SharedArrayBuffer(4));
    const { port1, port2 } = new MessageChannel();
    const note = async (progress: TaskProgress | null): Promise<void> => {
      try {
        const { cancelRequested } = await noteProgress(
          store,
          job.id,
          workerId,
          now().toISOString(),
          progress,
        );
        if (cancelRequested) Atomics.store(stop, 0, 1);
      } catch (error) {
        complain(error, `progress of job ${job.id} cannot be stored`);
      }
    };
    port1.on('message', (progress: TaskProgress) => void note(progress));
    const heartbeat = setInterval(() => void note(null), heartbeatEveryMs);
    const task: Task = {
      database: store.place,
      jobId: job.id,
      workerId,
      kind: job.kind,
      input: job.input,
      actorName: job.createdBy,
      port: port2,
      stop,
      crew,
    };
    const ended = pool
      .run(task, { transferList: [port2] })
      .then(
        async (result) => end(job, workerId, { state: 'done', result }),
        async (error: unknown) => fail(job, workerId, error, stop),
      )
      .finally(async () => {
        clearInterval(heartbeat);
        port1.close();
        running.delete(job.id);
        await delivered
          .ended()
          .catch((error: unknown) => complain(error, 'the end of a job cannot be reported'));
        await look();
      });
    running.set(job.id, { lane, stop, ended });
  }

  async function fail(job: Job, workerId: string, error: unknown, stop: Int32Array): Promise<void> {
    if (leftForLater.has(job.id)) return; // The next start finds the job without a worker and takes it up again.
    if (Atomics.load(stop, 0) === 1) {
      await end(job, workerId, { state: 'cancelled', error: 'The job was cancelled.' });
      return;
    }
    const refusal = toRefusal(error);
    const reason = error instanceof Error ? error.message : String(error);
    if (refusal.code === 'internal') log.warn({ job: job.id, error: reason }, 'a job failed');
    await end(job, workerId, {
      state: 'failed',
      error: refusal.code === 'internal' ? reason : refusal.message,
    });
  }

  async function end(job: Job, workerId: string, how: Parameters<typeof finishJob>[4]): Promise<void> {
    for (let attempt = 0; attempt < endAttempts; attempt++) {
      try {
        await finishJob(store, job.id, workerId, now().toISOString(), how);
        return;
      } catch (error) {
        // Saying it twice changes nothing, so a broken connection is no reason to leave it unsaid.
        if (!['storage-busy', 'storage-unreachable'].includes(storageRefusal(error)?.code ?? '')) {
          log.warn({ job: job.id, error: String(error) }, 'the end of a job cannot be stored');
          return;
        }
      }
      await delay(lookEveryMs);
    }
    log.warn({ job: job.id }, 'the end of a job cannot be stored: the database stays busy');
  }

  const lookingAgain = setInterval(() => void look(), lookEveryMs);
  const recovering = setInterval(async () => {
    try {
      await recover();
      await sweepIncomingFiles(store, 'none');
      await sweepIdempotentAnswers(store, now());
    } catch (error) {
      complain(error, 'the job queue cannot be read');
    }
  }, recoverEveryMs);
  lookingAgain.unref();
  recovering.unref();
  await look();
  return {
    wake: () => void look(),
    async close() {
      closed = true;
      clearInterval(lookingAgain);
      clearInterval(recovering);
      await looking;
      for (const [id, { stop }] of running) if (Atomics.exchange(stop, 0, 1) === 0) leftForLater.add(id);
      await Promise.all([...running.values()].map(({ ended }) => ended));
      await pool.destroy();
      await delivery.close();
    },
  };
}
