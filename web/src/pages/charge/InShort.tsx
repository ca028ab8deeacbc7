import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';

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
          <strong>{span(reached[1])}</strong> to {percent(Number(reached[0]), 0)};{' '}
        </>
      )}
      ends after {span(result.endTimeS)}; at most {significant(hottest, 3)} °C
      {over.length > 0 && <>; {over.map((c) => c.name).join(', ')} over the voltage limit</>}.{' '}
      <a href="#result">To the charts</a>
    </p>
  );
}
