import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Piscina } from 'piscina';
import { isBuilt, projectRoot } from '../projectRoot.ts';

/** What a thread runs: whole jobs and questions, or parts of one piece of work. */
export type WorkerName = 'jobs/worker' | 'threads/partWorker';

/**
 * Threads run the built worker where this file is part of the build, else the TypeScript source through a loader.
 *
 * @param common what every thread is given once
 */
export function makePool(threads: number, worker: WorkerName, common?: unknown): Piscina {
  const file = isBuilt ? `dist/server/${worker}.js` : 'server/threads/sourceWorker.mjs';
  return new Piscina({
    filename: pathToFileURL(join(projectRoot, file)).href,
    workerData: { worker, common },
    minThreads: 0,
    maxThreads: threads,
    concurrentTasksPerWorker: 1,
    idleTimeout: 10_000,
  });
}
