import { TextInput } from '@mantine/core';
import type { LotLine } from '../../../../server/contract/lotLine.ts';
import { residualSentence } from '../../../../server/contract/residualChecks.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { readNumber } from '../../format/readNumber.ts';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { reasonSentence } from '../../words/reasons.ts';

interface LotLineViewProps {
  readonly line: LotLine;
  /** What was typed as the value of y whose x is wanted, in the unit shown. */
  readonly at: string;
  readonly setAt: (text: string) => void;
}

/** What the line between two quantities of a lot says, and where it meets a value. */
export function LotLineView({ line, at, setAt }: LotLineViewProps) {
  const [units] = useUnits();
  const { x, y, slope, scatter, leftOut, inverse } = line;
  if (slope === null || x.unit === null || y.unit === null)
    return <p>No line through the cells: {reasonSentence(line.reason)}</p>;
  const [xUnit, yUnit] = [displayUnit(x.unit, units), displayUnit(y.unit, units)];
  const per = yUnit.factor / xUnit.factor;
  const interval =
    slope.low === null || slope.high === null
      ? ''
      : ` (95 %: ${significant(slope.low * per, 3)} to ${significant(slope.high * per, 3)})`;
  const level = slope.low !== null && slope.high !== null && slope.low <= 0 && slope.high >= 0;
  return (
    <>
      <p>
        Line through {line.n} cells, errors in both quantities: slope {significant(slope.value * per, 3)}{' '}
        {yUnit.symbol} per {xUnit.symbol}
        {interval}.
        {level && ' It is not significantly different from zero: the two quantities may be unrelated.'}
        {scatter !== null &&
          scatter > 1 &&
          ` The cells scatter about it by ${significant(scatter, 2)} times their uncertainties, and the interval is widened by that.`}
        {line.residualChecks !== null && ` ${residualSentence(line.residualChecks)}`}
        {leftOut.length > 0 && ` Left out: ${leftOut.map(({ serial }) => serial).join(', ')}.`}
      </p>
      <TextInput
        size="xs"
        label={`Value on the Y axis, in ${yUnit.symbol}, to be read back on the X axis`}
        value={at}
        error={readNumber(at).problem}
        onChange={(event) => setAt(event.currentTarget.value)}
      />
      {inverse !== null && (
        <p>
          {inverse.x === null
            ? 'Where the line meets that value is open: the slope is not known well enough.'
            : `The line meets ${quantity(inverse.at, y.unit, units)} at ${quantity(inverse.x, x.unit, units)}, 95 % ${quantity(inverse.low, x.unit, units)} to ${quantity(inverse.high, x.unit, units)}${inverse.reason === 'outside-cells' ? '. That lies beyond the measured cells' : ''}. It is where the line lies; single cells scatter about it.`}
        </p>
      )}
    </>
  );
}
