import { setTimeout as pause } from 'node:timers/promises';
import pino from 'pino';
import type { Context } from '../server/context.ts';
import { startJobRunner } from '../server/jobs/runner.ts';
import { countOpenJobs, pageJobs } from '../server/store/jobs.ts';

/** Runs what waits in the queue, as the service would, until nothing waits. @throws Error naming a job that failed */
export async function finishJobs(context: Context): Promise<void> {
  const { store } = context;
  const runner = await startJobRunner({ store, log: pino({ level: 'warn' }, pino.destination(2)) });
  try {
    for (;;) {
      const [failed] = (await pageJobs(store, { limit: 1, state: 'failed' })).items;
      if (failed) throw new Error(`The job ${failed.kind} failed: ${failed.error ?? 'no reason given'}`);
      if ((await countOpenJobs(store)) === 0) return;
      await pause(50);
    }
  } finally {
    await runner.close();
  }
}
