import { useEffect, useState } from 'react';
import type { JobKind } from '../../../server/contract/jobs.ts';
import { isOver } from './useJob.ts';
import { useRequest } from './useRequest.ts';

/**
 * The job of this kind that waits or runs for a lot, whoever started it and from wherever; null where none does. One that
 * was seen running stays the answer after its end, so that the page shows how it ended also where that came while the page
 * was cut off from the service.
 */
export function useRunningJob(kind: JobKind, lotId: number): number | null {
  const { data } = useRequest('/jobs', { query: { kind, limit: 50 } }, { everyMs: 5_000 });
  const running = data?.items.find((job) => !isOver(job) && job.input.lotId === lotId)?.id ?? null;
  const [seen, setSeen] = useState<{ readonly lotId: number; readonly id: number } | null>(null);
  useEffect(() => {
    if (running !== null) setSeen({ lotId, id: running });
  }, [lotId, running]);
  return running ?? (seen?.lotId === lotId ? seen.id : null);
}
