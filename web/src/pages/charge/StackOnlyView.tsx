import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { fixed, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { say } from '../../words/i18n.ts';
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
      <h2>{say('charge.ifOnlyTheStackVoltageWere')}</h2>
      {worst !== undefined && worst.overvoltageV > 0 ? (
        <p className="warning">
          {say('charge.wouldReachVMVAboveIts', {
            worstName: worst.name,
            peakVoltageV: fixed(worst.peakVoltageV, 3),
            overvoltageV: significant(worst.overvoltageV * 1000, 3),
            overvoltageDurationS: span(worst.overvoltageDurationS),
          })}
        </p>
      ) : (
        <p>{say('charge.theseTwoCellsStayWithinTheir')}</p>
      )}
      <ChartFigure
        picture={cellPicture(
          say('charge.voltageOfEachCellOnlyThe'),
          { label: say('charge.voltage'), unit: 'V' },
          [{ name: say('charge.onlyTheStackWatched'), result: alone }],
          'voltageV',
          1,
          voltageLimitV === null ? [] : [{ name: say('charge.limitOfEachCell'), at: voltageLimitV }],
        )}
      />
    </>
  );
}
