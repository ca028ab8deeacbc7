import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { bindingWords, limitWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';

/** The answer of a study: how fast and how hot, what held the current back the longest, and the highest rate. */
export function StudyAnswer({ result }: { result: ChargeStudyResult }) {
  const [reached] = Object.entries(result.timesS)
    .filter((entry): entry is [string, number] => typeof entry[1] === 'number')
    .sort(([a], [b]) => Number(b) - Number(a));
  const over = result.cells.filter((cell) => cell.overvoltageV > 0).map((cell) => cell.name);
  const limit = longestLimit(result);
  const { rateSearch: search } = result;
  return (
    <p className="answer">
      {reached !== undefined &&
        say('charge.reachedSocAfterTime', {
          reached: percent(Number(reached[0]), 0),
          time: span(reached[1]),
        })}
      {say('charge.theChargeEndsAfterTime', {
        time: span(result.endTimeS),
        hottest: significant(Math.max(...result.cells.map((cell) => cell.peakTemperatureC)), 3),
      })}
      {limit !== null && <> {say('charge.heldBackTheLongestBy', { limit })}</>}
      {over.length > 0 && <strong> {say('charge.overItsVoltageLimit', { cells: over.join(', ') })}</strong>}
      {search !== null && search.rateC !== null && (
        <>
          {' '}
          {say('charge.atMostRateKeepsEveryLimit', {
            rate: significant(search.rateC, 3),
            binding: bindingWords[search.binding],
          })}
        </>
      )}
    </p>
  );
}

/** What held the current for the longest time in all, with the cell where it is one. */
function longestLimit({ limits, cells }: ChargeStudyResult): string | null {
  const held = new Map<string, number>();
  for (const one of limits) {
    const cell = one.cell === null ? undefined : cells[one.cell]?.name;
    const name = cell === undefined ? limitWords[one.limit] : `${limitWords[one.limit]} (${cell})`;
    held.set(name, (held.get(name) ?? 0) + one.endTimeS - one.startTimeS);
  }
  const [longest] = [...held].sort(([, a], [, b]) => b - a);
  return longest === undefined ? null : longest[0];
}
