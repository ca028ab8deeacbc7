import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { LotAgeing } from '../../../../server/contract/ageingAssessment.ts';
import type { AgeingAxis, AgeingQuantityName } from '../../../../server/contract/ageingTrack.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useJob } from '../../api/useJob.ts';
import { useRunningJob } from '../../api/useRunningJob.ts';
import { instant } from '../../format/time.ts';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { type ChosenLaws, PublishedLawsInput } from './PublishedLawsInput.tsx';
import { StressInput } from './StressInput.tsx';
import type { StressTable } from './stressTable.ts';

const axes: readonly { readonly value: AgeingAxis; readonly label: string }[] = [
  { value: 'cycle', label: say('ageing.cycles') },
  { value: 'equivalent-full-cycles', label: say('ageing.equivalentFullCycles2') },
  { value: 'throughput-ah', label: say('ageing.chargeThroughput2') },
  { value: 'days', label: say('ageing.days') },
];

/** Asks for the assessment of a lot: what is followed, over what, and where life ends. */
export function AssessAgeing({ lotId, last }: { lotId: number; last: LotAgeing | null }) {
  const [quantity, setQuantity] = useState<AgeingQuantityName>(last?.quantity ?? 'capacity');
  const [axis, setAxis] = useState<AgeingAxis>(last?.axis ?? 'cycle');
  const [limits, setLimits] = useState('');
  const [level, setLevel] = useState(80);
  const [by, setBy] = useState<number | null>(null);
  const [published, setPublished] = useState<ChosenLaws>({ laws: [], complete: true });
  const [stress, setStress] = useState<StressTable>({ settings: null, problems: [] });
  const [jobId, setJobId] = useState<number | null>(null);
  const underWay = useRunningJob('ageing', lotId);
  const job = useJob(jobId ?? underWay, ['/lots', '/cells']);
  const assess = useAction(
    (body: Given<At<'POST', '/lots/{id}/ageing'>>['body'], key) =>
      api.post('/lots/{id}/ageing', { params: { id: lotId }, body, idempotencyKey: key }),
    ['/jobs'],
    (started) => setJobId(started.id),
  );
  return (
    <form
      className="not-print"
      onSubmit={(e) => {
        e.preventDefault();
        const endOfLife = limits
          .split(',')
          .map((l) => l.trim())
          .filter((l) => l !== '');
        assess.run({
          quantity,
          axis,
          level: level / 100,
          ...(endOfLife.length === 0 ? {} : { endOfLife }),
          ...(by === null ? {} : { reachedBy: by }),
          publishedLaws: [...published.laws],
          ...(stress.settings === null ? {} : { stress: stress.settings }),
        });
      }}
    >
      <div className="form">
        <NativeSelect
          size="xs"
          label={say('ageing.followThe')}
          value={quantity}
          data={['capacity', 'resistance'].map((one) => ({ value: one, label: plainCode(one) }))}
          onChange={(e) => setQuantity(e.currentTarget.value === 'resistance' ? 'resistance' : 'capacity')}
        />
        <NativeSelect
          size="xs"
          label={say('ageing.over')}
          value={axis}
          data={[...axes]}
          onChange={(e) => setAxis(axes.find((a) => a.value === e.currentTarget.value)?.value ?? 'cycle')}
        />
        <TextInput
          size="xs"
          label={say('ageing.lifeEndsAt')}
          description={say('ageing.forExample80OfFirst0')}
          value={limits}
          error={assess.error?.reasonFor('endOfLife')}
          onChange={(e) => setLimits(e.currentTarget.value)}
        />
        <NumberField
          size="xs"
          label={say('ageing.intervalOfTheForecast')}
          min={1}
          max={99}
          value={level}
          onChange={(v) => v !== null && setLevel(v)}
        />
        <NumberField
          size="xs"
          label={say('ageing.chanceThatALimitIsReachedBy')}
          description={say('ageing.anAgeEmptyNotAsked')}
          min={0}
          value={by}
          onChange={setBy}
        />
      </div>
      <PublishedLawsInput onChange={setPublished} />
      <StressInput lotId={lotId} onChange={setStress} />
      <div className="actions">
        <Button
          type="submit"
          loading={assess.running}
          disabled={stress.problems.length > 0 || !published.complete}
        >
          {last === null ? say('ageing.assessTheAgeing') : say('ageing.assessAgain')}
        </Button>
      </div>
      {last !== null && (
        <p className="by">
          {say('ageing.lastAssessedBy', {
            createdAt: instant(last.fit.createdAt),
            createdBy: last.fit.createdBy,
          })}
        </p>
      )}
      <Problem error={assess.error} />
      <JobProgress job={job} name={say('ageing.assessingTheAgeing')} />
    </form>
  );
}
