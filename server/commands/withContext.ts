import { localActor } from '../access/identify.ts';
import { readConfig } from '../config.ts';
import type { Context } from '../context.ts';
import { openService } from '../openService.ts';

/** Opens the database of this machine for one command and closes it afterwards, also when the command fails. */
export async function withContext<T>(use: (context: Context) => Promise<T> | T): Promise<T> {
  const service = await openService(readConfig());
  try {
    return await use({ ...service.base, actor: localActor });
  } finally {
    await service.close();
  }
}
