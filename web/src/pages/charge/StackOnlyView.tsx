import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { cellPicture } from './studyPictures.ts';

/** The same charge with only the stack voltage watched: a warning, with the overcharge it causes. */
export function StackOnlyView({
  result,
  voltageLimitV,
}: {
  result: ChargeStudyResult;
  voltageLimitV: number | null;
}) {
  const alone = result.stackOnly;
  if (alone === null) return null;
  const worst = [...alone.cells].sort((a, b) => b.overvoltageV - a.overvoltageV)[0];
  return (
    <>
      <h2>If only the stack voltage were watched</h2>
      {worst !== undefined && worst.overvoltageV > 0 ? (
        <p className="warning">
          {worst.name} would reach {worst.peakVoltageV.toFixed(3)} V,{' '}
          {significant(worst.overvoltageV * 1000, 3)} mV above its limit, and stay above it for{' '}
          {span(worst.overvoltageDurationS)}, while the stack voltage looks right.
        </p>
      ) : (
        <p>These two cells stay within their limits even so. Others of the lot may not: watch each cell.</p>
      )}
      <ChartFigure
        picture={cellPicture(
          'Voltage of each cell, only the stack watched',
          { label: 'Voltage', unit: 'V' },
          [{ name: 'only the stack watched', result: alone }],
          'voltageV',
          1,
          voltageLimitV === null ? [] : [{ name: 'limit of each cell', at: voltageLimitV }],
        )}
      />
    </>
  );
}
