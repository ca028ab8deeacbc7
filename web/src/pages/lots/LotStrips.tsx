import { Link } from 'react-router';
import { StripRow } from '../../charts/StripRow.tsx';
import { percent } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import type { UnitChoice } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import type { JudgedColumn } from '../../words/lotVerdict.ts';

interface LotStripsProps {
  readonly judged: readonly JudgedColumn[];
  /** Id of the cell that the page is about. */
  readonly here?: number;
}

/** Every judged quantity of a lot as one strip of points. */
export function LotStrips({ judged, here }: LotStripsProps) {
  const [units] = useUnits();
  return (
    <div className="strips">
      {judged.map(({ title, column }) => {
        const out = new Set(column.outliers.map((o) => o.cellId));
        const own = column.normalPlot.find((p) => p.cellId === here);
        const { lowerLimit, upperLimit } = column.capability;
        return (
          <StripRow
            key={column.key}
            title={title}
            values={column.normalPlot.map((p) => ({
              id: p.cellId,
              name: `${p.serial}: ${quantity(p.value, column.unit, units)}`,
              value: p.value,
              outlier: out.has(p.cellId),
            }))}
            median={column.median}
            limits={[
              { name: say('lots.lowerLimit'), at: lowerLimit },
              { name: say('lots.upperLimit'), at: upperLimit },
            ]}
            {...(here === undefined ? {} : { here })}
          >
            {here === undefined ? (
              <>
                {say('lots.medianMedianColumn', {
                  median: quantity(column.median, column.unit, units),
                  column: spread(column, units),
                })}
                {column.outliers.length > 0 && (
                  <span className="strip-names">
                    ▲{' '}
                    {column.outliers.slice(0, 3).map((o, i) => (
                      <span key={o.cellId}>
                        {i > 0 && ', '}
                        <Link to={`/cells/${o.cellId}`}>{o.serial}</Link>
                      </span>
                    ))}
                    {column.outliers.length > 3 &&
                      say('lots.andOutliersMore', { outliers: column.outliers.length - 3 })}
                  </span>
                )}
              </>
            ) : own === undefined ? (
              say('lots.notMeasured')
            ) : (
              <>
                <strong>{quantity(own.value, column.unit, units)}</strong>
                {out.has(own.cellId) && say('lots.outlier2')}
                <span className="strip-names">{rankWords(own.value, column)}</span>
              </>
            )}
          </StripRow>
        );
      })}
    </div>
  );
}

/** In percent of the mean, or in the unit where the mean is so small that a percentage says nothing. */
function spread(
  { relativeSpread, standardDeviation, unit }: JudgedColumn['column'],
  units: UnitChoice,
): string {
  if (relativeSpread !== null && relativeSpread < 0.5) return `, sd ${percent(relativeSpread, 1)}`;
  return standardDeviation === null ? '' : `, sd ${quantity(standardDeviation, unit, units, 2)}`;
}

/** `place 12 of 48 from the lowest`. */
function rankWords(value: number, column: JudgedColumn['column']): string {
  const below = column.normalPlot.filter((p) => p.value < value).length;
  const above = column.normalPlot.filter((p) => p.value > value).length;
  const n = column.normalPlot.length;
  if (n < 2) return say('lots.onlyCellWithAValue');
  return below <= above
    ? say('lots.rankFromBelow', { rank: String(below + 1), n })
    : say('lots.rankFromAbove', { rank: String(above + 1), n });
}
