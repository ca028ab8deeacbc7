import { Link } from 'react-router';
import type { LotAgeing } from '../../../../server/contract/ageingAssessment.ts';
import { limitWord } from '../../../../server/contract/limitName.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { axisOf } from './trackPictures.ts';

/** Every cell of the lot with the limit it reaches first, and the stacks whose cells drift apart. */
export function LotLife({ ageing }: { ageing: LotAgeing }) {
  const [units] = useUnits();
  const firstOf = (values: readonly (number | null)[]) => values.find((v) => v !== null) ?? null;
  const lastOf = (values: readonly (number | null)[]) => values.findLast((v) => v !== null) ?? null;
  return (
    <>
      <h2>When the first limit is reached</h2>
      <Sheet
        label="First limit of each cell"
        head={[
          'Cell',
          'First value',
          'Last value',
          'Model',
          'First limit',
          axisOf(ageing.axis).label,
          'Interval',
          'Flags',
        ]}
        numeric={[1, 2, 5]}
        rows={ageing.cells.map((c) => [
          <Link key="cell" to={`/cells/${c.cellId}`}>
            {c.serial}
          </Link>,
          quantity(firstOf(c.value), c.unit, units),
          quantity(lastOf(c.value), c.unit, units),
          c.chosen === null ? '–' : plainCode(c.chosen),
          c.earliest.name === null ? reasonSentence(c.earliest.reason) : limitWord(c.earliest.name),
          c.earliest.value === null
            ? '–'
            : `${significant(c.earliest.value, 3)}${c.earliest.extrapolation ? ' (extrapolated)' : ''}`,
          c.earliest.low === null
            ? '–'
            : `${significant(c.earliest.low, 3)} to ${c.earliest.high === null ? 'open' : significant(c.earliest.high, 3)}`,
          c.flags.map(plainCode).join(', '),
        ])}
      />
      {ageing.without.length > 0 && (
        <p>
          Without a value to follow:{' '}
          {ageing.without
            .slice(0, 12)
            .map((c) => c.serial)
            .join(', ')}
          {ageing.without.length > 12 && ` and ${ageing.without.length - 12} more`}.
        </p>
      )}
      {ageing.pairs.length > 0 && (
        <>
          <h2>Stacks whose cells drift apart</h2>
          <Sheet
            label="Stacks whose cells drift apart"
            head={[
              'Stack',
              'Cells',
              'Quantity',
              'Tolerance',
              `Leave it at, ${axisOf(ageing.axis).label.toLowerCase()}`,
            ]}
            numeric={[3, 4]}
            rows={ageing.pairs.map((p) => [
              <Link key="stack" to={`/stacks/${p.stackId}`}>
                {p.stackName}
              </Link>,
              p.cells.join(' with '),
              p.quantity,
              percent(p.tolerance, 1),
              p.leavesAt === null ? 'not seen' : significant(p.leavesAt, 4),
            ])}
          />
        </>
      )}
    </>
  );
}
