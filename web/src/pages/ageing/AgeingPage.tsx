import { NativeSelect, Switch } from '@mantine/core';
import { useMemo, useState } from 'react';
import { Link } from 'react-router';
import type { LotAgeing } from '../../../../server/contract/ageingAssessment.ts';
import type { AgeingQuantityName } from '../../../../server/contract/ageingTrack.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { Cautions } from '../../parts/Cautions.tsx';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { AgeingAnswer } from './AgeingAnswer.tsx';
import { AssessAgeing } from './AssessAgeing.tsx';
import { LotLife } from './LotLife.tsx';
import { StressView } from './StressView.tsx';
import { TrackView } from './TrackView.tsx';
import { overlayPicture } from './trackPictures.ts';

export default function AgeingPage() {
  const lots = useRequest('/lots', { query: { limit: 500 } });
  const [lotId, setLotId] = useUrlState('lotId');
  const lot = lotId === '' ? String(lots.data?.items[0]?.id ?? '') : lotId;
  const [asked, setAsked] = useState({ lot: '', quantity: '' });
  // What was asked of one lot does not hold for another, which may not have that assessment.
  const quantity = asked.lot === lot ? asked.quantity : '';
  const ageing = useRequest(lot === '' ? null : '/lots/{id}/ageing', {
    params: { id: lot },
    query: { quantity },
  });
  const never = ageing.data === null;
  const found = ageing.data;
  return (
    <>
      <PageHead title={say('ageing.ageing')} about={say('ageing.capacityFadeAndResistanceRiseOver')} />
      <Problem error={lots.error ?? ageing.error} again={ageing.again} />
      {lots.data !== undefined && lots.data.items.length === 0 ? (
        <Empty title={say('ageing.noLotYet')}>
          <p>
            {say('ageing.ageingIsFollowedForTheCells')} <Link to="/import">{say('ageing.importFiles')}</Link>{' '}
            {say('ageing.first')}
          </p>
        </Empty>
      ) : (
        <div className="sheet-tools">
          <NativeSelect
            size="xs"
            label={say('ageing.lot')}
            value={lot}
            data={lots.data?.items.map((l) => ({ value: String(l.id), label: l.name })) ?? []}
            onChange={(e) => setLotId(e.currentTarget.value)}
          />
          {found && found.assessed.length > 1 && (
            <NativeSelect
              size="xs"
              label={say('ageing.assessmentOfThe')}
              value={found.quantity}
              data={found.assessed.map((one) => ({ value: one, label: plainCode(one) }))}
              onChange={(e) => setAsked({ lot, quantity: e.currentTarget.value })}
            />
          )}
        </div>
      )}
      {ageing.loading && <Waiting />}
      {never && lot !== '' && (
        <Empty title={say('ageing.notAssessedYet')}>
          <p>
            {say('ageing.thisNeedsTheCapacityOrThe')} <Link to="/import">{say('ageing.importFiles')}</Link>
            {say('ageing.evaluateThemThenAssessTheLot')}
          </p>
        </Empty>
      )}
      {found && <AgeingAnswer ageing={found} />}
      {found && <Fleet ageing={found} />}
      {lot !== '' && !ageing.loading && <AssessAgeing key={lot} lotId={Number(lot)} last={found ?? null} />}
      {found && <Assessed ageing={found} />}
    </>
  );
}

/** All cells on one chart: with the sentence above it the answer, before the settings that led to it. */
function Fleet({ ageing }: { ageing: LotAgeing }) {
  const [units] = useUnits();
  const [relative, setRelative] = useUrlState('relative', 'no');
  const [chosen] = useUrlState('cell');
  const overlay = useMemo(
    () => overlayPicture(ageing, relative === 'yes', units, chosen),
    [ageing, relative, units, chosen],
  );
  const pale = overlay?.series.filter((s) => s.faint === true).length ?? 0;
  if (overlay === null) return null;
  return (
    <>
      <ChartFigure
        picture={overlay}
        height={380}
        note={pale === 0 ? undefined : say('ageing.namedAmongTheCells', { cells: ageing.cells.length, pale })}
      />
      <Switch
        label={say('ageing.relativeToTheFirstValue')}
        checked={relative === 'yes'}
        onChange={(e) => setRelative(e.currentTarget.checked ? 'yes' : 'no')}
      />
      <Cautions also={[say('ageing.aForecastIsAnExtrapolationDecide')]} />
    </>
  );
}

function Assessed({ ageing }: { ageing: LotAgeing }) {
  const [serial, setSerial] = useUrlState('cell', ageing.cells[0]?.serial ?? '');
  const chosen = ageing.cells.find((c) => c.serial === serial) ?? ageing.cells[0];
  if (chosen === undefined) {
    return <p>{say('ageing.noCellOfThisLotHas')}</p>;
  }
  return (
    <>
      <LotLife ageing={ageing} />
      <h2>{say('ageing.oneCell')}</h2>
      <NativeSelect
        size="xs"
        maw={240}
        label={say('ageing.cell')}
        value={chosen.serial}
        data={ageing.cells.map((c) => c.serial)}
        onChange={(e) => setSerial(e.currentTarget.value)}
      />
      <OneCell key={chosen.cellId} cellId={chosen.cellId} quantity={ageing.quantity} />
      {ageing.stress !== null && <StressView stress={ageing.stress} />}
    </>
  );
}

function OneCell({ cellId, quantity }: { cellId: number; quantity: AgeingQuantityName }) {
  const { data, error, again, loading } = useRequest('/cells/{id}/ageing', {
    params: { id: cellId },
    query: { quantity },
  });
  if (data === undefined || data === null)
    return loading ? <Waiting /> : <Problem error={error} again={again} />;
  return <TrackView cell={data.assessment.cell} />;
}
