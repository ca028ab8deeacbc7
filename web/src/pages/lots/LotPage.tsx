import { Button, MultiSelect, Switch } from '@mantine/core';
import { useMemo } from 'react';
import { Link, useParams } from 'react-router';
import type { Lot, LotColumns } from '../../../../server/contract/lots.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Empty } from '../../parts/Empty.tsx';
import { rangesOf } from '../../parts/idRanges.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { DataTable } from '../../tables/DataTable.tsx';
import { say } from '../../words/i18n.ts';
import { columnTitle, quantityTitle } from '../../words/quantities.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { ColumnJudgement } from './ColumnJudgement.tsx';
import { EvaluateLot } from './EvaluateLot.tsx';
import { LotHead } from './LotHead.tsx';
import { LotScatter } from './LotScatter.tsx';
import { LotVerdictView } from './LotVerdictView.tsx';
import { lotTableColumns } from './lotTable.tsx';
import { useSelection } from './useSelection.ts';
import { WarningSigns } from './WarningSigns.tsx';

export default function LotPage() {
  const { id = '' } = useParams();
  const lot = useRequest('/lots/{id}', { params: { id } });
  const known = useRequest('/lots/{id}/columns', { params: { id } });
  if (lot.data === undefined) {
    return lot.loading ? <Waiting /> : <Problem error={lot.error} again={lot.again} />;
  }
  return (
    <>
      <LotHead lot={lot.data} />
      <EvaluateLot lot={lot.data} />
      {lot.data.counts.cells === 0 ? (
        <Empty title={say('lots.noCellsInThisLotYet')}>
          <p>
            {say('lots.importACellTableOrRecords')}{' '}
            <Link to={`/import?lot=${lot.data.name}`}>{say('lots.importFiles')}</Link>
          </p>
        </Empty>
      ) : known.data === undefined ? (
        <Problem error={known.error} again={known.again} />
      ) : (
        <LotBody lot={lot.data} known={withoutRepeats(known.data)} />
      )}
    </>
  );
}

function LotBody({ lot, known }: { lot: Lot; known: LotColumns }) {
  const [columnText, setColumnText] = useUrlState('columns', known.suggested.join(','));
  const keys = useMemo(() => columnText.split(',').filter((k) => k !== ''), [columnText]);
  const [uncertainty, setUncertainty] = useUrlState('uncertainty', 'no');
  const [units] = useUnits();
  const [chosen, setChosen] = useSelection(`lot-${lot.id}`);
  const rows = useRequest('/lots/{id}/cells', {
    params: { id: lot.id },
    query: { limit: 5000, columns: keys },
  });
  const statistics = useRequest('/lots/{id}/statistics', {
    params: { id: lot.id },
    query: { columns: keys },
  });
  const measured = useMemo(
    () => keys.flatMap((key) => known.columns.find((c) => c.key === key) ?? []),
    [known, keys],
  );
  const signs = useRequest('/lots/{id}/warnings', { params: { id: lot.id } });
  const columns = useMemo(() => {
    const outliers = new Map(
      statistics.data?.columns.map((c) => [c.key, new Set(c.outliers.map((o) => o.cellId))]) ?? [],
    );
    const warned = new Set(signs.data?.items.map((s) => s.cellId) ?? []);
    return lotTableColumns(measured, { units, uncertainty: uncertainty === 'yes', outliers, warned });
  }, [measured, units, uncertainty, statistics.data, signs.data]);
  const selection = chosen.size > 0 ? rangesOf([...chosen].map(Number)) : '';
  return (
    <>
      <Problem error={statistics.error} again={statistics.again} />
      {statistics.data !== undefined && (
        <LotVerdictView
          lot={lot}
          measured={measured}
          statistics={statistics.data}
          warningSigns={signs.data?.items ?? []}
        />
      )}
      <h2>{say('lots.cells')}</h2>
      <div className="sheet-tools">
        <MultiSelect
          className="grows"
          size="xs"
          label={say('lots.measuredColumns')}
          data={known.columns.map((c) => ({
            value: c.key,
            label:
              c.cellCount === lot.counts.cells
                ? columnTitle(c)
                : `${columnTitle(c)} (${c.cellCount} ${c.cellCount === 1 ? say('lots.cell2') : say('lots.cells2')})`,
          }))}
          value={keys}
          onChange={(next) => setColumnText(next.join(','))}
          searchable
          clearable={false}
        />
        <Switch
          label={say('lots.withUncertainty')}
          checked={uncertainty === 'yes'}
          onChange={(e) => setUncertainty(e.currentTarget.checked ? 'yes' : 'no')}
        />
      </div>
      <NotCompared known={known} />
      <Problem error={rows.error} again={rows.again} />
      {rows.loading && <Waiting />}
      {rows.data !== undefined && (
        <DataTable
          name="lot"
          label={say('lots.cellsOfLotName', { lotName: lot.name })}
          rows={rows.data.items}
          columns={columns}
          rowId={(r) => String(r.id)}
          firstSort="serial"
          chosen={chosen}
          onChosen={setChosen}
        />
      )}
      <div className="actions">
        <Button
          component={Link}
          to={`/pairings/new?lots=${lot.id}${selection === '' ? '' : `&cells=${selection}`}`}
        >
          {selection === ''
            ? say('lots.pairTheCellsOfThisLot')
            : say('lots.pairTheSizeChosenCells', { size: chosen.size })}
        </Button>
        <Button
          component={Link}
          variant="default"
          to={`/exports?subjectKind=lot&subjectId=${lot.id}&new=yes`}
        >
          {say('lots.exportTheLot')}
        </Button>
        {selection !== '' && (
          <Button variant="subtle" onClick={() => setChosen(new Set())}>
            {say('lots.chooseNone')}
          </Button>
        )}
      </div>
      <WarningSigns lotId={lot.id} />
      {rows.data !== undefined && statistics.data !== undefined && (
        <LotScatter rows={rows.data.items} measured={measured} statistics={statistics.data} chosen={chosen} />
      )}
      <h2>{say('lots.spreadLimitsAndOutliers')}</h2>
      {keys.map((key, i) => {
        const judged = statistics.data?.columns.find((c) => c.key === key);
        const column = known.columns.find((k) => k.key === key);
        return judged === undefined || column === undefined ? null : (
          <ColumnJudgement
            key={key}
            lotId={lot.id}
            title={columnTitle(column)}
            column={judged}
            startsOpen={i < 2}
          />
        );
      })}
    </>
  );
}

/** A key that comes twice was measured by two methods; the first is the one that the values are taken from. */
function withoutRepeats(known: LotColumns): LotColumns {
  const byKey = new Map<string, LotColumns['columns'][number]>();
  for (const column of known.columns) if (!byKey.has(column.key)) byKey.set(column.key, column);
  return { ...known, columns: [...byKey.values()] };
}

/** Which quantities stand in no column, because their records do not determine them. */
function NotCompared({ known: { notCompared } }: { known: LotColumns }) {
  const reasons = [...new Set(notCompared.map(({ reason }) => reason))];
  return reasons.map((reason) => {
    const titles = notCompared
      .filter((one) => one.reason === reason)
      .map(({ quantity, durationS }) => quantityTitle({ quantity, durationS, direction: null, soc: null }));
    return (
      <p key={reason}>
        {say('lots.notComparedBetweenCellsValueReason', {
          value: [...new Set(titles)].join(', '),
          reason: reasonSentence(reason),
        })}
      </p>
    );
  });
}
