import { Button, MultiSelect, TextInput } from '@mantine/core';
import { useQueryClient } from '@tanstack/react-query';
import { useEffect, useMemo, useRef, useState } from 'react';
import { useNavigate } from 'react-router';
import type { Job } from '../../../../server/contract/jobs.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { followJob } from '../../api/useJob.ts';
import { forget, useRequest } from '../../api/useRequest.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { idsOfRanges } from '../../parts/idRanges.ts';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { CriteriaFields } from './CriteriaFields.tsx';
import {
  type CriteriaChoice,
  choiceOfText,
  choiceText,
  criteriaDocument,
  featuresFor,
  leavesOutResistance,
  purposes,
} from './criteriaForm.ts';
import { LiveCount } from './LiveCount.tsx';
import { setWords } from './setWords.ts';
import { useLotColumns } from './useLotColumns.ts';

export default function NewPairingPage() {
  const [lotText, setLotText] = useUrlState('lots');
  const [cellText] = useUrlState('cells');
  const lots = useRequest('/lots', { query: { limit: 500 } });
  const lotIds = useMemo(() => idsOfRanges(lotText), [lotText]);
  const cellIds = useMemo(() => idsOfRanges(cellText), [cellText]);
  const known = useLotColumns(lotIds);
  const asked = lots.data?.items.filter((l) => lotIds.includes(l.id));
  const available =
    cellIds.length > 0 || asked === undefined
      ? null
      : asked.reduce((sum, l) => sum + l.counts.availableCells, 0);
  return (
    <>
      <PageHead
        title={say('pairings.pairCells')}
        within={[{ name: say('pairings.pairing'), path: '/pairings' }]}
        about={say('pairings.chooseByWhatTheTwoCells')}
      />
      <MultiSelect
        label={say('pairings.cellsOfTheseLots')}
        data={
          lots.data?.items.map((l) => ({
            value: String(l.id),
            label: say('pairings.nameAvailableCellsAvailable', {
              name: l.name,
              availableCells: l.counts.availableCells,
            }),
          })) ?? []
        }
        value={lotIds.map(String)}
        onChange={(next) => setLotText(next.join(','))}
      />
      {cellIds.length > 0 && <p>{say('pairings.onlyTheCellsThatWereChosen', { cellIds: cellIds.length })}</p>}
      <Problem error={lots.error} again={lots.again} />
      {lotIds.length > 0 && known === null && <Waiting />}
      {known !== null && <Run lotIds={lotIds} cellIds={cellIds} known={known} available={available} />}
    </>
  );
}

interface RunProps {
  readonly lotIds: number[];
  readonly cellIds: number[];
  readonly known: NonNullable<ReturnType<typeof useLotColumns>>;
  /** Cells of the lots that are available; null where single cells were chosen. */
  readonly available: number | null;
}

function Run({ lotIds, cellIds, known, available }: RunProps) {
  const [criteriaText, setCriteriaText] = useUrlState('criteria');
  const [name, setName] = useUrlState('name');
  const [job, setJob] = useState<Job | null>(null);
  const go = useNavigate();
  const client = useQueryClient();
  const present = useRef(true);
  useEffect(() => {
    present.current = true;
    return () => {
      present.current = false;
    };
  }, []);
  const choice = choiceOfText(criteriaText) ?? startingChoice(known);
  const words = setWords(choice.cellsPerStack);
  const title =
    name.trim() === ''
      ? choice.features.map((f) => featureWords(f.key.split('/')[0])).join(say('pairings.and'))
      : name.trim();
  const cells = cellIds.length > 0 ? { cellIds } : { lotIds };
  const criteria = criteriaDocument(choice, known.columns, title === '' ? say('pairings.pairing2') : title);
  const question = choice.features.length === 0 ? null : { ...cells, criteria };
  const run = useAction(
    (body: Given<At<'POST', '/pairings'>>['body'], key) =>
      api.post('/pairings', { body, idempotencyKey: key }),
    ['/pairings'],
    async (started) => {
      const ended = await followJob(started.id, setJob);
      const pairingId = ended.kind === 'pair' ? ended.result?.pairingId : undefined;
      if (pairingId !== undefined && present.current) void go(`/pairings/${pairingId}`);
      // After the page has been left: else its count of pairs would be computed again first, which may take long.
      void forget(client, '/pairings', '/jobs');
    },
  );
  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        run.run({ name: criteria.name, ...cells, criteria });
      }}
    >
      <CriteriaFields known={known} choice={choice} onChange={(next) => setCriteriaText(choiceText(next))} />
      <TextInput
        size="xs"
        maw={400}
        label={say('pairings.nameOfThisPairing')}
        placeholder={title}
        value={name}
        onChange={(e) => setName(e.currentTarget.value)}
      />
      <div className="at-hand">
        {question !== null && leavesOutResistance(choice.features, known) && (
          <p className="warning">{say('pairings.noResistanceIsComparedAlthoughIt')}</p>
        )}
        <LiveCount question={question} available={available} />
        <div className="actions">
          <Button type="submit" loading={run.running} disabled={question === null}>
            {words.find}
          </Button>
        </div>
      </div>
      <Problem error={run.error} />
      <JobProgress job={job} name={words.finding} />
      <Cautions also={[say('pairings.aCellWithAWarningSign')]} />
    </form>
  );
}

function startingChoice(known: RunProps['known']): CriteriaChoice {
  return {
    features: featuresFor(purposes[0].purpose, known),
    objective: 'least-total',
    missingValues: 'leave-out',
    outlierLimit: 3.5,
    signsIgnored: [],
    purpose: purposes[0].purpose,
    chargeCurrentA: null,
    cellsPerStack: 2,
    together: '',
    apart: '',
    heldBack: '',
  };
}
