import { z } from 'zod';
import { job } from '../contract/jobs.ts';
import { putBackupJob } from '../jobs/putBackupJob.ts';
import { publicJob } from './publicJob.ts';
import { defineRoute, type Route } from './route.ts';

export const backupRoutes: readonly Route[] = [
  defineRoute({
    method: 'post',
    path: '/backups',
    tag: 'Jobs',
    summary: 'Copy the whole database, as of one moment, into the folder of backups beside it, as a job',
    role: 'owner',
    body: z.strictObject({}),
    answer: job,
    status: 202,
    idempotent: true,
    handle: async ({ context }) => publicJob(await putBackupJob(context)),
  }),
];
