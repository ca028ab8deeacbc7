import { Link } from 'react-router';
import type { LotAgeing } from '../../../../server/contract/ageingAssessment.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { nounInside } from '../../words/language.ts';
import { limitTitle } from '../../words/quantities.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { axisOf } from './trackPictures.ts';

/** Every cell of the lot with the limit it reaches first, and the stacks whose cells drift apart. */
export function LotLife({ ageing }: { ageing: LotAgeing }) {
  const [units] = useUnits();
  const firstOf = (values: readonly (number | null)[]) => values.find((v) => v !== null) ?? null;
  const lastOf = (values: readonly (number | null)[]) => values.findLast((v) => v !== null) ?? null;
  return (
    <>
      <h2>{say('ageing.whenTheFirstLimitIsReached')}</h2>
      <Sheet
        label={say('ageing.firstLimitOfEachCell')}
        head={[
          say('ageing.cell'),
          say('ageing.firstValue'),
          say('ageing.lastValue'),
          say('ageing.model'),
          say('ageing.firstLimit'),
          axisOf(ageing.axis).label,
          say('ageing.interval'),
          say('ageing.flags'),
        ]}
        numeric={[1, 2, 5]}
        rows={ageing.cells.map((c) => [
          <Link key="cell" to={`/cells/${c.cellId}`}>
            {c.serial}
          </Link>,
          quantity(firstOf(c.value), c.unit, units),
          quantity(lastOf(c.value), c.unit, units),
          c.chosen === null ? '–' : plainCode(c.chosen),
          c.earliest.name === null ? reasonSentence(c.earliest.reason) : limitTitle(c.earliest.name),
          c.earliest.value === null
            ? '–'
            : `${significant(c.earliest.value, 3)}${c.earliest.extrapolation ? say('ageing.extrapolated') : ''}`,
          c.earliest.low === null
            ? '–'
            : say('ageing.earliestLowToEarliestHigh', {
                earliestLow: significant(c.earliest.low, 3),
                earliestHigh: c.earliest.high === null ? say('ageing.open') : significant(c.earliest.high, 3),
              }),
          c.flags.map(plainCode).join(', '),
        ])}
      />
      {ageing.without.length > 0 && (
        <p>
          {say('ageing.withoutAValueToFollowWithout', {
            without: ageing.without
              .slice(0, 12)
              .map((c) => c.serial)
              .join(', '),
          })}
          {ageing.without.length > 12 &&
            say('ageing.andWithoutMore', { without: ageing.without.length - 12 })}
          .
        </p>
      )}
      {ageing.pairs.length > 0 && (
        <>
          <h2>{say('ageing.stacksWhoseCellsDriftApart')}</h2>
          <Sheet
            label={say('ageing.stacksWhoseCellsDriftApart')}
            head={[
              say('ageing.stack'),
              say('ageing.cells'),
              say('ageing.quantity'),
              say('ageing.tolerance'),
              say('ageing.leaveItAtLabel', { label: nounInside(axisOf(ageing.axis).label) }),
            ]}
            numeric={[3, 4]}
            rows={ageing.pairs.map((p) => [
              <Link key="stack" to={`/stacks/${p.stackId}`}>
                {p.stackName}
              </Link>,
              p.cells.join(say('ageing.with')),
              plainCode(p.quantity),
              percent(p.tolerance, 1),
              p.leavesAt === null ? say('ageing.notSeen') : significant(p.leavesAt, 3),
            ])}
          />
        </>
      )}
    </>
  );
}
