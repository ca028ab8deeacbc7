import type { GaugeStudy } from '../../../../server/contract/gauge.ts';
import { useRequest } from '../../api/useRequest.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { reasonSentence } from '../../words/reasons.ts';

const verdicts = {
  good: 'the fixture tells the cells of this lot apart',
  limited: 'the fixture tells only distant cells of this lot apart',
  'not-enough': 'the fixture cannot tell the cells of this lot apart; improve the contacts before pairing',
  unknown: 'whether the fixture tells the cells apart is not known',
} as const;

/** What repeated tests of the same cells say about the fixture, for one column of a lot. */
export function ColumnGauge({ lotId, column }: { readonly lotId: number; readonly column: string }) {
  const [units] = useUnits();
  const { data, error, again } = useRequest<GaugeStudy>(`/lots/${lotId}/gauge`, { column });
  if (error !== null) return <Problem error={error} again={again} />;
  if (data === undefined) return null;
  if (data.reason !== null || data.unit === null) {
    return (
      <p>
        No gauge study of the fixture: {reasonSentence(data.reason)}
        {data.reason !== 'no-spread' && ' It needs two cells that were each tested twice or more.'}
      </p>
    );
  }
  return (
    <p>
      Gauge study of the fixture, {data.cells.length} cells tested {data.trials} times each:{' '}
      {verdicts[data.verdict]}. Repeatability {quantity(data.repeatability, data.unit, units, 3)}, between
      cells {quantity(data.betweenCells, data.unit, units, 3)}
      {data.ratio !== null && (
        <>
          , {percent(data.ratio, 2)} of the spread of the {data.basis === 'lot' ? 'lot' : 'study'}
        </>
      )}
      {data.distinctCategories !== null && <>, {data.distinctCategories} distinct categories</>}
      {data.pValue !== null && <> (p = {significant(data.pValue, 2)})</>}.
    </p>
  );
}
