import { useQueryClient } from '@tanstack/react-query';
import { useEffect, useState } from 'react';
import type { Job } from '../../../server/contract/jobs.ts';
import { api } from './ApiClient.ts';
import { forget } from './useRequest.ts';

const askAgainMs = 3_000;

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
  const [opened, setOpened] = useState(0);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a stream that was closed for good is opened again
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
    const again = { timer: 0 };
    events.addEventListener('error', () => {
      // A service that is just starting may refuse the stream, and then the browser does not ask again by itself.
      if (events.readyState === EventSource.CLOSED)
        again.timer = window.setTimeout(() => setOpened((n) => n + 1), askAgainMs);
    });
    return () => {
      clearTimeout(again.timer);
      events.close();
    };
  }, [jobId, paths, client, opened]);
  return job;
}

/** Follows a job outside of a component: tells every step, and ends when the job is over. */
export function followJob(jobId: number, tell: (job: Job) => void): Promise<Job> {
  return new Promise((resolve) => {
    const follow = (): void => {
      const events = new EventSource(api.address('/jobs/{id}/events', { params: { id: jobId } }));
      events.addEventListener('job', (event: MessageEvent<string>) => {
        const job: Job = JSON.parse(event.data);
        tell(job);
        if (!isOver(job)) return;
        events.close();
        resolve(job);
      });
      events.addEventListener('error', () => {
        if (events.readyState === EventSource.CLOSED) setTimeout(follow, askAgainMs);
      });
    };
    follow();
  });
}
