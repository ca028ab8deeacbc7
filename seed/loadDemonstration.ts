import { join } from 'node:path';
import { localActor } from '../server/access/identify.ts';
import { readConfig } from '../server/config.ts';
import type { Context } from '../server/context.ts';
import { openService } from '../server/openService.ts';
import { pageLots } from '../server/store/lots.ts';
import { runMainJob } from './mainJob.ts';

/**
 * Runs the main job on the demonstration lot where the database is empty, and prints what came out; does nothing where
 * there is a lot already.
 *
 * @returns the exit code
 */
export async function loadDemonstration(
  print: (line: string) => void = (line) => process.stdout.write(`${line}\n`),
): Promise<number> {
  const config = readConfig();
  const service = await openService(config);
  const context: Context = { ...service.base, actor: localActor };
  try {
    const present = pageLots(context.store, { limit: 1 });
    if (present.total > 0) {
      print(
        `The database holds ${present.total === 1 ? 'a lot' : `${present.total} lots`} already; nothing was loaded.`,
      );
      return 0;
    }
    await runMainJob(context, join(config.dataFolder, 'demonstration'), print);
    return 0;
  } finally {
    await service.close();
  }
}
