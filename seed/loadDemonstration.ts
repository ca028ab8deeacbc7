import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { localActor } from '../server/access/identify.ts';
import { readConfig } from '../server/config.ts';
import type { Context } from '../server/context.ts';
import { openService } from '../server/openService.ts';
import { restoreDatabase } from '../server/store/backup.ts';
import { pageLots } from '../server/store/lots.ts';
import { type DatabasePlace, openStore } from '../server/store/store.ts';
import { moveDatabase } from '../server/use-cases/database/moveDatabase.ts';
import { runMainJob } from './mainJob.ts';

/** What the loader works with; the tests give their own. */
interface LoaderParts {
  readonly config: ReturnType<typeof readConfig>;
  readonly runJob: (context: Context, folder: string, print: (line: string) => void) => Promise<void>;
}

/**
 * Runs the main job on the demonstration lot where the database is empty, and prints what came out; does nothing where
 * there is a lot already. The job runs on a database of its own that takes the place of the empty one when all is done:
 * one that was cut short leaves nothing behind and begins again the next time.
 *
 * @returns the exit code
 */
export async function loadDemonstration(
  print: (line: string) => void = (line) => process.stdout.write(`${line}\n`),
  { config, runJob }: LoaderParts = { config: readConfig(), runJob: runMainJob },
): Promise<number> {
  const lots = await inDatabase(
    config,
    async (context) => (await pageLots(context.store, { limit: 1 })).total,
  );
  if (lots > 0) {
    print(`The database holds ${lots === 1 ? 'a lot' : `${lots} lots`} already; nothing was loaded.`);
    return 0;
  }
  const part = join(config.dataFolder, 'demonstration.sqlite.part');
  removeDatabase(part);
  try {
    const place = { kind: 'sqlite', file: part } as const;
    await inDatabase({ ...config, database: place }, async (context) =>
      runJob(context, join(config.dataFolder, 'demonstration'), print),
    );
    await putInPlace(place, config.database);
  } finally {
    removeDatabase(part);
  }
  return 0;
}

/** Puts the database of the job in the place of the empty one, all of it or nothing. */
async function putInPlace(
  from: Extract<DatabasePlace, { kind: 'sqlite' }>,
  to: DatabasePlace,
): Promise<void> {
  if (to.kind === 'sqlite') {
    const empty = await restoreDatabase(from.file, to.file, new Date());
    if (empty !== null) removeDatabase(empty);
    return;
  }
  const [source, target] = [await openStore(from), await openStore(to)];
  try {
    await moveDatabase(source, target, false, () => {});
  } finally {
    await source.close();
    await target.close();
  }
}

async function inDatabase<T>(
  config: LoaderParts['config'],
  work: (context: Context) => Promise<T> | T,
): Promise<T> {
  const service = await openService(config);
  try {
    return await work({ ...service.base, actor: localActor });
  } finally {
    await service.close();
  }
}

function removeDatabase(file: string): void {
  for (const rest of ['', '-wal', '-shm']) rmSync(`${file}${rest}`, { force: true });
}
