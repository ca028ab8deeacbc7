import { extname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Piscina } from 'piscina';
import { projectRoot } from '../projectRoot.ts';

/** Threads run the built worker where this file is part of the build, else the TypeScript source through a loader. */
export function makePool(threads: number): Piscina {
  const built = extname(fileURLToPath(import.meta.url)) === '.js';
  const worker = built ? 'dist/server/jobs/worker.js' : 'server/jobs/sourceWorker.mjs';
  return new Piscina({
    filename: pathToFileURL(join(projectRoot, worker)).href,
    minThreads: 0,
    maxThreads: threads,
    concurrentTasksPerWorker: 1,
    idleTimeout: 10_000,
  });
}
