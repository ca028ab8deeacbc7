import { Button } from '@mantine/core';
import { useState } from 'react';
import type { Job } from '../../../../server/contract/jobs.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useJob } from '../../api/useJob.ts';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { Problem } from '../../parts/Problem.tsx';

/** Where tests of the lot wait to be evaluated: says so and does it, with progress. */
export function EvaluateLot({ lot }: { lot: Lot }) {
  const [jobId, setJobId] = useState<number | null>(null);
  const job = useJob(jobId, ['/lots', '/tests', '/cells']);
  const start = useAction(
    () => api.request<Job>('POST', `/lots/${lot.id}/evaluate`, { body: {} }),
    ['/jobs'],
    (made) => setJobId(made.id),
  );
  const waiting = lot.counts.testsNotEvaluated;
  return (
    <>
      {waiting > 0 && jobId === null && (
        <p className="warning">
          {waiting} {waiting === 1 ? 'test waits' : 'tests wait'} to be evaluated.{' '}
          <Button size="compact-sm" loading={start.running} onClick={() => start.run(undefined)}>
            Evaluate now
          </Button>
        </p>
      )}
      <Problem error={start.error} />
      <JobProgress job={job} name="Evaluating the lot" />
    </>
  );
}
