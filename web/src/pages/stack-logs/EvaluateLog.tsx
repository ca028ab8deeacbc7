import { Button, Checkbox, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import { useNavigate } from 'react-router';
import { type ChargeLogQuantity, chargeLogQuantity } from '../../../../server/contract/chargeLogResult.ts';
import type { StackLog } from '../../../../server/contract/stackLogs.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { isOver, useJob } from '../../api/useJob.ts';
import { useRequest } from '../../api/useRequest.ts';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { fitWords } from '../../words/chargeLog.ts';
import { say } from '../../words/i18n.ts';
import { type Picked, PickedParts, pickedNames } from '../charge/PickedParts.tsx';

type Asked = Given<At<'POST', '/stack-log-evaluations'>>['body'];

/** Asks for a comparison and a fit of a log, alone or with others of its stack, and shows how far the job is. */
export function EvaluateLog({ log }: { log: StackLog }) {
  const [fit, setFit] = useState<readonly ChargeLogQuantity[]>(['capacity', 'start-soc', 'r0']);
  const [studyId, setStudyId] = useState('');
  const [offsetMv, setOffsetMv] = useState<number | null>(null);
  const [picked, setPicked] = useState<Picked>({ source: '', cable: '', converter: '' });
  const [others, setOthers] = useState<readonly number[]>([]);
  const [startsEmpty, setStartsEmpty] = useState(false);
  const [jobId, setJobId] = useState<number | null>(null);
  const studies = useRequest('/charge-studies', { query: { stackId: log.stackId, limit: 100 } });
  const logs = useRequest('/stack-logs', { query: { stackId: log.stackId, limit: 100 } });
  const further = logs.data?.items.filter(({ id }) => id !== log.id) ?? [];
  const job = useJob(jobId, ['/stack-log-evaluations', '/stack-logs', '/stacks']);
  const go = useNavigate();
  const made = job?.kind === 'charge-log' ? job.result?.fitId : undefined;
  const start = useAction(
    (body: Asked, key) => api.post('/stack-log-evaluations', { body, idempotencyKey: key }),
    ['/jobs'],
    (put) => setJobId(put.id),
  );
  const running = job !== null && !isOver(job);
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        start.run({
          logIds: [log.id, ...others],
          fit: [...fit],
          ...(studyId === '' ? {} : { studyId: Number(studyId) }),
          ...(studyId === '' ? pickedNames(picked) : {}),
          ...(startsEmpty ? { startsEmpty } : {}),
          ...(offsetMv === null ? {} : { voltageOffsetV: offsetMv / 1000 }),
        });
      }}
    >
      <div className="form">
        <NativeSelect
          size="xs"
          label={say('stackLogs.compareWith')}
          value={studyId}
          data={[
            { value: '', label: say('stackLogs.theParametersOfTheStackS') },
            ...(studies.data?.items.map(({ id, name }) => ({ value: String(id), label: name })) ?? []),
          ]}
          onChange={(e) => setStudyId(e.currentTarget.value)}
        />
        <NumberField
          size="xs"
          label={say('stackLogs.offsetOfAVoltageChannelMv')}
          min={0}
          value={offsetMv}
          onChange={setOffsetMv}
        />
        <Checkbox
          size="xs"
          label={say('stackLogs.dischargedToTheCutOffBefore')}
          checked={startsEmpty}
          onChange={(e) => setStartsEmpty(e.currentTarget.checked)}
        />
        <Checkbox.Group
          label={say('stackLogs.fitOfEachCell')}
          value={[...fit]}
          onChange={(next) => setFit(chargeLogQuantity.options.filter((one) => next.includes(one)))}
        >
          {chargeLogQuantity.options.map((one) => (
            <Checkbox key={one} size="xs" mt={4} value={one} label={fitWords[one]} />
          ))}
        </Checkbox.Group>
        {further.length > 0 && (
          <Checkbox.Group
            label={say('stackLogs.togetherWith')}
            value={others.map(String)}
            onChange={(next) => setOthers(next.map(Number))}
          >
            {further.map(({ id, fileName, cycle }) => (
              <Checkbox
                key={id}
                size="xs"
                mt={4}
                value={String(id)}
                label={cycle === null ? fileName : say('stackLogs.fileNameCycleCycle', { fileName, cycle })}
              />
            ))}
          </Checkbox.Group>
        )}
      </div>
      {studyId === '' && <PickedParts picked={picked} onPick={setPicked} />}
      <div className="actions">
        <Button type="submit" loading={start.running || running}>
          {fit.length === 0 ? say('stackLogs.compare') : say('stackLogs.compareAndFit')}
        </Button>
        {typeof made === 'number' && (
          <Button variant="default" onClick={() => void go(`/stack-log-evaluations/${made}`)}>
            {say('stackLogs.openTheEvaluation')}
          </Button>
        )}
      </div>
      <Problem error={start.error} />
      {(running || job?.state === 'failed') && (
        <JobProgress job={job} name={say('stackLogs.evaluatingTheLog')} />
      )}
    </form>
  );
}
