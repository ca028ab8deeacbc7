import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { say } from '../../words/i18n.ts';

/** The answer in a line beside the inputs, for paper that is too narrow to show the charts there too. */
export function InShort({ result }: { result: ChargeStudyResult }) {
  const reached = Object.entries(result.timesS)
    .filter((entry): entry is [string, number] => typeof entry[1] === 'number')
    .sort(([a], [b]) => Number(b) - Number(a))[0];
  const hottest = Math.max(...result.cells.map((c) => c.peakTemperatureC));
  const over = result.cells.filter((c) => c.overvoltageV > 0);
  return (
    <p className="in-short" role="status">
      {reached !== undefined && (
        <>
          <strong>{span(reached[1])}</strong>{' '}
          {say('charge.toReached', { reached: percent(Number(reached[0]), 0) })}{' '}
        </>
      )}
      {say('charge.endsAfterAtMostC', {
        endTimeS: span(result.endTimeS),
        hottest: significant(hottest, 3),
      })}
      {over.length > 0 && say('charge.overOverTheVoltageLimit', { over: over.map((c) => c.name).join(', ') })}
      . <a href="#result">{say('charge.toTheCharts')}</a>
    </p>
  );
}
