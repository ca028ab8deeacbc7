import { Button } from '@mantine/core';
import type { Job } from '../../../server/contract/jobs.ts';
import { api } from '../api/ApiClient.ts';
import { useAction } from '../api/useAction.ts';
import { isOver } from '../api/useJob.ts';
import { span } from '../format/time.ts';
import { say } from '../words/i18n.ts';
import { progressWords } from '../words/jobs.ts';
import { plainCode } from '../words/reasons.ts';
import { JobError } from './JobError.tsx';
import { Problem } from './Problem.tsx';

/** A job under way: what it does, how far it is, how long it still takes, and how to stop it. */
export function JobProgress({ job, name }: { job: Job | null; name: string }) {
  const cancel = useAction((id: number) => api.post('/jobs/{id}/cancel', { params: { id } }), ['/jobs']);
  if (job === null) return null;
  const done = Math.round(job.progress * 100);
  return (
    <section className="job" aria-label={name}>
      <p role="status">
        <strong>{name}</strong>
        {job.state === 'running' ? '…' : `: ${plainCode(job.state)}`}
        {progressWords(job) !== '' && <> {progressWords(job)}</>}
        {job.remainingS !== null && !isOver(job) && (
          <> {say('general.aboutLeft', { remainingS: span(job.remainingS) })}</>
        )}
      </p>
      {!isOver(job) && (
        <>
          <div
            className="bar"
            role="progressbar"
            aria-label={name}
            aria-valuenow={done}
            aria-valuemin={0}
            aria-valuemax={100}
          >
            <div style={{ width: `${done}%` }} />
          </div>
          <Button
            size="compact-sm"
            variant="default"
            mt={6}
            disabled={job.cancelRequested}
            onClick={() => cancel.run(job.id)}
          >
            {job.cancelRequested ? say('general.stopping') : say('general.stop')}
          </Button>
        </>
      )}
      {job.error !== null && <JobError error={job.error} />}
      <Problem error={cancel.error} />
    </section>
  );
}
