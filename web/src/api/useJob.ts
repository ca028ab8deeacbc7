import { useQueryClient } from '@tanstack/react-query';
import { useEffect, useState } from 'react';
import type { Job } from '../../../server/contract/jobs.ts';
import { api } from './ApiClient.ts';
import { forget } from './useRequest.ts';

/** True once nothing more will happen to the job. */
export function isOver(job: Job): boolean {
  return job.state === 'done' || job.state === 'failed' || job.state === 'cancelled';
}

/**
 * Follows a job over server-sent events until it is over, then marks `changes` as stale. Where the stream breaks the
 * browser asks again by itself.
 */
export function useJob(jobId: number | null, changes: readonly string[]): Job | null {
  const [job, setJob] = useState<Job | null>(null);
  const client = useQueryClient();
  const paths = changes.join(' ');
  useEffect(() => {
    if (jobId === null) {
      setJob(null);
      return;
    }
    const events = new EventSource(api.address('/jobs/{id}/events', { params: { id: jobId } }));
    const take = (event: MessageEvent<string>): void => {
      const next: Job = JSON.parse(event.data);
      setJob(next);
      if (!isOver(next)) return;
      events.close();
      void forget(client, '/jobs', ...paths.split(' '));
    };
    events.addEventListener('job', take);
    return () => events.close();
  }, [jobId, paths, client]);
  return job;
}

/** Follows a job outside of a component: tells every step, and ends when the job is over. */
export function followJob(jobId: number, tell: (job: Job) => void): Promise<Job> {
  return new Promise((resolve) => {
    const events = new EventSource(api.address('/jobs/{id}/events', { params: { id: jobId } }));
    events.addEventListener('job', (event: MessageEvent<string>) => {
      const job: Job = JSON.parse(event.data);
      tell(job);
      if (!isOver(job)) return;
      events.close();
      resolve(job);
    });
  });
}
