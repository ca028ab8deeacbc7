import { putBackupJob } from '../jobs/putBackupJob.ts';
import { publicJob } from './publicJob.ts';
import { defineRoute, type Route } from './route.ts';

export const backupRoutes: readonly Route[] = [
  defineRoute('POST /backups', {
    role: 'owner',
    handle: async ({ context }) => publicJob(await putBackupJob(context)),
  }),
];
