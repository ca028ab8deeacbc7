import { useMemo } from 'react';
import { Link } from 'react-router';
import type { Cell } from '../../../../server/contract/cells.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { columnTitle } from '../../words/quantities.ts';
import { signWords } from '../../words/warningSigns.ts';
import { LotStrips } from '../lots/LotStrips.tsx';

/** Whether the cell is sound, in a sentence, and its key figures with their place in the lot. */
export function CellPlace({ cell }: { cell: Cell }) {
  const params = { id: cell.lotId };
  const known = useRequest('/lots/{id}/columns', { params });
  const statistics = useRequest('/lots/{id}/statistics', { params });
  const signs = useRequest('/lots/{id}/warnings', { params });
  const judged = useMemo(
    () =>
      (statistics.data?.columns ?? []).flatMap((column) => {
        const found = known.data?.columns.find((c) => c.key === column.key);
        const own = column.normalPlot.some((p) => p.cellId === cell.id);
        return found === undefined || !own ? [] : [{ title: columnTitle(found), column }];
      }),
    [known.data, statistics.data, cell.id],
  );
  const own = (signs.data?.items ?? []).filter((s) => s.cellId === cell.id);
  const outlying = judged.filter((j) => j.column.outliers.some((o) => o.cellId === cell.id));
  return (
    <section aria-label={say('cells.placeInTheLot')}>
      <Problem error={known.error ?? statistics.error ?? signs.error} again={statistics.again} />
      {own.map((sign) => (
        <p key={sign.code} className="warning">
          <strong>{say('cells.warningSign', { signWords: signWords[sign.code] })}</strong>{' '}
          {say('cells.thisCellIsNeverOfferedFor')}
        </p>
      ))}
      {statistics.data !== undefined && signs.data !== undefined && (
        <p className="answer">
          {judged.length === 0 ? (
            say('cells.nothingHasBeenMeasuredOnThis')
          ) : (
            <>
              {outlying.length === 0
                ? say('cells.withinItsLotInJudgedCompared', {
                    judged:
                      judged.length === 1
                        ? say('cells.theOneQuantity')
                        : say('cells.allJudgedQuantities', { judged: judged.length }),
                  })
                : say('cells.outlierOfItsLotInOutlying', {
                    outlying: outlying.map((j) => j.title).join(say('cells.and')),
                  })}
              {own.length > 0 && say('cells.butItCarriesAWarningSign')} (
              <Link to={`/lots/${cell.lotId}`}>{cell.lotName}</Link>).
            </>
          )}
        </p>
      )}
      <LotStrips judged={judged} here={cell.id} />
    </section>
  );
}
