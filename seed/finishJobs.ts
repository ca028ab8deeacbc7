import { setTimeout as pause } from 'node:timers/promises';
import pino from 'pino';
import type { Context } from '../server/context.ts';
import { startJobRunner } from '../server/jobs/runner.ts';

/** Runs what waits in the queue, as the service would, until nothing waits. @throws Error naming a job that failed */
export async function finishJobs(context: Context): Promise<void> {
  const { store } = context;
  const runner = await startJobRunner({ store, log: pino({ level: 'warn' }, pino.destination(2)) });
  try {
    for (;;) {
      const failed = await store.get<{ kind: string; error: string | null }>(
        `SELECT kind, error FROM Job WHERE state = 'failed'`,
      );
      if (failed) throw new Error(`The job ${failed.kind} failed: ${failed.error ?? 'no reason given'}`);
      const open = await store.get<{ n: number }>(
        `SELECT COUNT(*) AS n FROM Job WHERE state IN ('waiting', 'running')`,
      );
      if (open?.n === 0) return;
      await pause(50);
    }
  } finally {
    await runner.close();
  }
}
