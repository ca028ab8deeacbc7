import type { Lot, LotStatistics, WarningSign } from '../../../../server/contract/lots.ts';
import type { MeasurementColumn } from '../../../../server/contract/measurements.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { lotVerdict } from '../../words/lotVerdict.ts';
import { columnTitle } from '../../words/quantities.ts';
import { LotStrips } from './LotStrips.tsx';

interface LotVerdictViewProps {
  readonly lot: Lot;
  readonly measured: readonly MeasurementColumn[];
  readonly statistics: LotStatistics;
  readonly warningSigns: readonly WarningSign[];
}

/** The answer about the lot in a sentence, and its quantities at a glance. */
export function LotVerdictView({ lot, measured, statistics, warningSigns }: LotVerdictViewProps) {
  const [units] = useUnits();
  const judged = measured.flatMap((column) => {
    const found = statistics.columns.find((c) => c.key === column.key);
    return found === undefined ? [] : [{ title: columnTitle(column), column: found }];
  });
  const verdict = lotVerdict(
    {
      cells: lot.counts.cells,
      cellTypeName: lot.cellTypeName,
      ratedCapacityAh: lot.ratedCapacityAh,
      judged,
      warningSigns,
    },
    units,
  );
  return (
    <section aria-label={say('lots.verdictOnTheLot')}>
      {verdict.warnings.map((text) => (
        <p key={text} className="warning">
          {text}
        </p>
      ))}
      <p className="answer">{verdict.answer}</p>
      {verdict.details.length > 0 && <p>{verdict.details.join(' ')}</p>}
      <LotStrips judged={judged} />
    </section>
  );
}
