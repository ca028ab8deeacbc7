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
      <PageHead
        title="Ageing"
        about="Capacity fade and resistance rise over life, when a limit is reached and how sure that is, and what the conditions have to do with it."
      />
      <Problem error={lots.error ?? ageing.error} again={ageing.again} />
      {lots.data !== undefined && lots.data.items.length === 0 ? (
        <Empty title="No lot yet">
          <p>
            Ageing is followed for the cells of a lot. <Link to="/import">Import files</Link> first.
          </p>
        </Empty>
      ) : (
        <NativeSelect
          size="xs"
          maw={360}
          label="Lot"
          value={lot}
          data={lots.data?.items.map((l) => ({ value: String(l.id), label: l.name })) ?? []}
          onChange={(e) => setLotId(e.currentTarget.value)}
        />
      )}
      {found && found.assessed.length > 1 && (
        <NativeSelect
          size="xs"
          maw={360}
          label="Assessment of the"
          value={found.quantity}
          data={found.assessed}
          onChange={(e) => setAsked({ lot, quantity: e.currentTarget.value })}
        />
      )}
      {ageing.loading && <Waiting />}
      {never && lot !== '' && (
        <Empty title="Not assessed yet">
          <p>
            This needs the capacity or the resistance of cells at several cycles: from cycling records, a
            cycle table, or repeated capacity tests. <Link to="/import">Import files</Link>, evaluate them,
            then assess the lot here.
          </p>
        </Empty>
      )}
      {lot !== '' && !ageing.loading && <AssessAgeing key={lot} lotId={Number(lot)} last={found ?? null} />}
      {found !== null && found !== undefined && <Assessed ageing={found} />}
    </>
  );
}

function Assessed({ ageing }: { ageing: LotAgeing }) {
  const [units] = useUnits();
  const [relative, setRelative] = useUrlState('relative', 'no');
  const [serial, setSerial] = useUrlState('cell', ageing.cells[0]?.serial ?? '');
  const overlay = useMemo(() => overlayPicture(ageing, relative === 'yes', units), [ageing, relative, units]);
  const chosen = ageing.cells.find((c) => c.serial === serial) ?? ageing.cells[0];
  if (chosen === undefined) {
    return <p>No cell of this lot has a value at more than one cycle: there is nothing to follow yet.</p>;
  }
  return (
    <>
      <Cautions also={['A forecast is an extrapolation: decide to stop by measured check-ups, not by it.']} />
      <Switch
        label="Relative to the first value"
        checked={relative === 'yes'}
        onChange={(e) => setRelative(e.currentTarget.checked ? 'yes' : 'no')}
      />
      {overlay !== null && <ChartFigure picture={overlay} height={380} />}
      <LotLife ageing={ageing} />
      <h2>One cell</h2>
      <NativeSelect
        size="xs"
        maw={240}
        label="Cell"
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
