import { dirname, join } from 'node:path';
import { type Context, nowText } from '../context.ts';
import type { Job } from '../contract/jobs.ts';
import { ownFileOf } from '../store/backup.ts';
import { putJob } from './queue.ts';

/** Puts a job that copies the database into `backups/` beside it, under a name with the instant. */
export async function putBackupJob(context: Context): Promise<Job> {
  const stamp = nowText(context).replace(/[:.]/g, '-');
  return putJob(context, 'backup', {
    file: join(dirname(ownFileOf(context.store)), 'backups', `gemel-${stamp}.sqlite`),
  });
}
