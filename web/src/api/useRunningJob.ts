import type { JobKind } from '../../../server/contract/jobs.ts';
import { isOver } from './useJob.ts';
import { useRequest } from './useRequest.ts';

/** The job of this kind that waits or runs for a lot, whoever started it and from wherever; null where none does. */
export function useRunningJob(kind: JobKind, lotId: number): number | null {
  const { data } = useRequest('/jobs', { query: { kind, limit: 50 } }, { everyMs: 5_000 });
  return data?.items.find((job) => !isOver(job) && job.input.lotId === lotId)?.id ?? null;
}
