import type { AgeingResult } from '../../../../server/contract/ageing.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { axisOf, limitWord } from './trackPictures.ts';

/** Every cell of the lot with the limit it reaches first, and the pairs that drift apart. */
export function LotLife({ result }: { result: AgeingResult }) {
  const [units] = useUnits();
  const unit = result.cells[0]?.unit ?? '';
  const last = (values: readonly (number | null)[]) => values.findLast((v) => v !== null) ?? null;
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
          axisOf(result.axis).label,
          'Interval',
          'Flags',
        ]}
        numeric={[1, 2, 5]}
        rows={result.cells.map((c) => [
          c.cell,
          quantity(c.series.firstMeasured, unit, units),
          quantity(last(c.series.value), unit, units),
          c.chosen === null ? '–' : plainCode(c.chosen),
          c.earliest.name === null ? reasonSentence(c.earliest.reason) : limitWord(c.earliest.name),
          c.earliest.value === null
            ? '–'
            : `${significant(c.earliest.value, 4)}${c.earliest.extrapolation ? ' (extrapolated)' : ''}`,
          c.earliest.low === null
            ? '–'
            : `${significant(c.earliest.low, 4)} to ${c.earliest.high === null ? 'open' : significant(c.earliest.high, 4)}`,
          c.flags.map(plainCode).join(', '),
        ])}
      />
      {result.pairs.length > 0 && (
        <>
          <h2>Pairs that drift apart</h2>
          <Sheet
            label="Pairs that drift apart"
            head={['Cells', 'Quantity', 'Tolerance', 'Leave it at', 'Difference at the end']}
            numeric={[2, 3, 4]}
            rows={result.pairs.map((p) => [
              p.cells.join(' with '),
              p.quantity,
              quantity(p.tolerance, unit, units, 3),
              p.leavesAt === null ? 'not seen' : significant(p.leavesAt, 4),
              quantity(p.differenceAtEnd, unit, units, 3),
            ])}
          />
        </>
      )}
    </>
  );
}
