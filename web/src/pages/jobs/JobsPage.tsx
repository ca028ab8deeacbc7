import { Button, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import type { Job } from '../../../../server/contract/jobs.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { isOver, useJob } from '../../api/useJob.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Empty } from '../../parts/Empty.tsx';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { Unreadable } from '../../parts/Unreadable.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { jobWords, progressWords } from '../../words/jobs.ts';
import { plainCode } from '../../words/reasons.ts';

export default function JobsPage() {
  const [state, setState] = useUrlState('state');
  const jobs = useRequest('/jobs', { query: { limit: 100, state } }, { everyMs: 5000 });
  const lots = useRequest('/lots', { query: { limit: 500 } });
  const running = jobs.data?.items.filter((j) => !isOver(j)) ?? [];
  return (
    <>
      <PageHead
        title={say('jobs.backgroundJobs')}
        about={say('jobs.importsEvaluationsPairingsAndStudiesThat')}
      />
      {running.slice(0, 4).map((job) => (
        <Running key={job.id} id={job.id} name={jobName(job, lots.data?.items ?? [])} />
      ))}
      <div className="sheet-tools">
        <NativeSelect
          size="xs"
          label={say('jobs.state')}
          value={state}
          data={[
            { value: '', label: say('jobs.everyState') },
            ...['waiting', 'running', 'done', 'failed', 'cancelled'].map((one) => ({
              value: one,
              label: plainCode(one),
            })),
          ]}
          onChange={(e) => setState(e.currentTarget.value)}
        />
      </div>
      {jobs.loading && <Waiting />}
      <Problem error={jobs.error} again={jobs.again} />
      <Unreadable list={jobs.data} />
      {jobs.data !== undefined &&
        (jobs.data.items.length === 0 ? (
          <Empty title={say('jobs.nothingHere')}>
            <p>{say('jobs.longWorkAppearsHereByItself')}</p>
          </Empty>
        ) : (
          <Sheet
            label={say('jobs.jobs')}
            head={[
              say('jobs.job'),
              say('jobs.what'),
              say('jobs.state'),
              say('jobs.askedFor'),
              say('jobs.by'),
              say('jobs.ended'),
              say('jobs.remark'),
              say('jobs.again'),
            ]}
            rows={jobs.data.items.map((job) => [
              job.id,
              jobName(job, lots.data?.items ?? []),
              <StateWord key="state" state={job.state} />,
              instant(job.createdAt),
              job.createdBy,
              instant(job.finishedAt),
              job.error === null ? progressWords(job) : <Said key="error" text={job.error} />,
              job.state === 'failed' || job.state === 'cancelled' ? <Retry key="retry" id={job.id} /> : '',
            ])}
            maxHeight={640}
          />
        ))}
    </>
  );
}

function Running({ id, name }: { id: number; name: string }) {
  return <JobProgress job={useJob(id, ['/'])} name={say('jobs.nameJobId', { name, id })} />;
}

/** What a job does, with the lot or the files it does it for. */
function jobName({ kind, input }: Job, lots: readonly Lot[]): string {
  const lot = lots.find((l) => l.id === input.lotId)?.name;
  const files = Array.isArray(input.files) ? input.files.map((f: { name?: string }) => f.name ?? 'file') : [];
  const of = lot ?? (files.length > 1 ? say('jobs.filesFiles', { files: files.length }) : files[0]);
  return of === undefined ? jobWords[kind] : `${jobWords[kind]}: ${of}`;
}

function Retry({ id }: { id: number }) {
  const [done, setDone] = useState(false);
  const retry = useAction(
    () => api.post('/jobs/{id}/retry', { params: { id } }),
    ['/jobs'],
    () => setDone(true),
  );
  return (
    <>
      <Button
        size="compact-xs"
        variant="default"
        loading={retry.running}
        disabled={done}
        onClick={() => retry.run(undefined)}
      >
        {done ? say('jobs.askedFor2') : say('jobs.tryAgain')}
      </Button>
      <Problem error={retry.error} />
    </>
  );
}
