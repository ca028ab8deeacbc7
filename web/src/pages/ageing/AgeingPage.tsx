import { NativeSelect, Switch } from '@mantine/core';
import { useMemo } from 'react';
import { Link } from 'react-router';
import type { AgeingResult } from '../../../../server/contract/ageing.ts';
import type { Page } from '../../../../server/contract/common.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { Cautions } from '../../parts/Cautions.tsx';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { LotLife } from './LotLife.tsx';
import { StressView } from './StressView.tsx';
import { TrackView } from './TrackView.tsx';
import { overlayPicture } from './trackPictures.ts';

export default function AgeingPage() {
  const lots = useRequest<Page<Lot>>('/lots', { limit: 500 });
  const [lotId, setLotId] = useUrlState('lotId');
  const [quantity, setQuantity] = useUrlState('quantity', 'capacity');
  const [axis, setAxis] = useUrlState('axis', 'cycle');
  const lot = lotId === '' ? String(lots.data?.items[0]?.id ?? '') : lotId;
  const ageing = useRequest<AgeingResult>(lot === '' ? null : `/lots/${lot}/ageing`, { quantity, axis });
  return (
    <>
      <PageHead
        title="Ageing"
        about="Capacity fade and resistance rise over life, when a limit is reached and how sure that is, and what the conditions have to do with it."
      />
      <div className="sheet-tools">
        <NativeSelect
          size="xs"
          label="Lot"
          value={lot}
          data={lots.data?.items.map((l) => ({ value: String(l.id), label: l.name })) ?? []}
          onChange={(e) => setLotId(e.currentTarget.value)}
        />
        <NativeSelect
          size="xs"
          label="Quantity"
          value={quantity}
          data={['capacity', 'resistance']}
          onChange={(e) => setQuantity(e.currentTarget.value)}
        />
        <NativeSelect
          size="xs"
          label="Over"
          value={axis}
          data={[
            { value: 'cycle', label: 'cycles' },
            { value: 'equivalent-full-cycles', label: 'equivalent full cycles' },
            { value: 'throughput-ah', label: 'charge throughput' },
            { value: 'days', label: 'days' },
          ]}
          onChange={(e) => setAxis(e.currentTarget.value)}
        />
      </div>
      <Problem error={lots.error ?? ageing.error} again={ageing.again} />
      {ageing.loading && <Waiting what="Fitting the life of every cell…" />}
      {ageing.data !== undefined &&
        (ageing.data.cells.length === 0 ? (
          <Empty title="Nothing over life yet">
            <p>
              Import cycling records, a cycle table, or repeated capacity tests with their cycle, then
              evaluate them. <Link to="/import">Import files</Link>
            </p>
          </Empty>
        ) : (
          <Result result={ageing.data} />
        ))}
    </>
  );
}

function Result({ result }: { result: AgeingResult }) {
  const [units] = useUnits();
  const [relative, setRelative] = useUrlState('relative', 'no');
  const [cell, setCell] = useUrlState('cell', result.cells[0].cell);
  const overlay = useMemo(
    () => overlayPicture(result.cells, relative === 'yes', units),
    [result, relative, units],
  );
  const chosen = result.cells.find((c) => c.cell === cell) ?? result.cells[0];
  return (
    <>
      <Cautions also={['A forecast is an extrapolation: decide to stop by measured check-ups, not by it.']} />
      <Switch
        label="Relative to the first value"
        checked={relative === 'yes'}
        onChange={(e) => setRelative(e.currentTarget.checked ? 'yes' : 'no')}
      />
      {overlay !== null && <ChartFigure picture={overlay} height={380} />}
      <LotLife result={result} />
      <h2>One cell</h2>
      <NativeSelect
        size="xs"
        maw={240}
        label="Cell"
        value={chosen.cell}
        data={result.cells.map((c) => c.cell)}
        onChange={(e) => setCell(e.currentTarget.value)}
      />
      <TrackView cell={chosen} />
      {result.stress !== null && <StressView stress={result.stress} />}
    </>
  );
}
