import type { LotAgeing } from '../../../../server/contract/ageingAssessment.ts';
import { percent, significant } from '../../format/number.ts';
import { say } from '../../words/i18n.ts';
import { nounInside } from '../../words/language.ts';
import { limitTitle } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';
import { axisOf } from './trackPictures.ts';

type Cell = LotAgeing['cells'][number];

/** Which cell of the lot reaches a limit first, when and with what range, and which cells age unlike the others. */
export function AgeingAnswer({ ageing }: { ageing: LotAgeing }) {
  const reached = ageing.cells.filter((c) => c.earliest.value !== null);
  const [first] = reached.toSorted((a, b) => (a.earliest.value ?? 0) - (b.earliest.value ?? 0));
  const flagged = ageing.cells.filter((c) => c.flags.length > 0);
  return (
    <p className="answer">
      {first === undefined
        ? say('ageing.noneReaches', { cells: ageing.cells.length })
        : say('ageing.firstIsCell', {
            cell: first.serial,
            limit: limitTitle(first.earliest.name ?? ''),
            when: whenOf(first, nounInside(axisOf(ageing.axis).label)),
          })}{' '}
      {say('ageing.reachedOrForeseen', {
        cells: ageing.cells.length,
        crossed: reached.filter((c) => !c.earliest.extrapolation).length,
        expected: reached.filter((c) => c.earliest.extrapolation).length,
      })}
      {flagged.length > 0 && (
        <>
          {' '}
          {say('ageing.flaggedCells', {
            cells: flagged.map((c) => `${c.serial} (${c.flags.map(plainCode).join(', ')})`).join('; '),
          })}
        </>
      )}
    </p>
  );
}

function whenOf({ earliest, limits }: Cell, axis: string): string {
  const { value, low, high, extrapolation } = earliest;
  const at = { axis, value: significant(value ?? 0, 3) };
  const said = extrapolation ? say('ageing.expectedAt', at) : say('ageing.reachedAt', at);
  const forecast = limits.find((l) => l.name === earliest.name)?.forecast;
  if (low === null || forecast === undefined) return extrapolation ? said + say('ageing.rangeNone') : said;
  const level = percent(forecast.level, 0);
  return high === null
    ? said + say('ageing.rangeOpen', { level, low: significant(low, 3) })
    : said + say('ageing.rangeBetween', { level, low: significant(low, 3), high: significant(high, 3) });
}
