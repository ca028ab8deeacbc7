import { TextInput } from '@mantine/core';
import type { LotLine } from '../../../../server/contract/lotLine.ts';
import { residualSentence } from '../../../../server/contract/residualChecks.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { readNumber } from '../../format/readNumber.ts';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';

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
    return <p>{say('lots.noLineThroughTheCellsReason', { reason: reasonSentence(line.reason) })}</p>;
  const [xUnit, yUnit] = [displayUnit(x.unit, units), displayUnit(y.unit, units)];
  const per = yUnit.factor / xUnit.factor;
  const interval =
    slope.low === null || slope.high === null
      ? ''
      : say('lots.n95SlopelowToSlopehigh', {
          slopeLow: significant(slope.low * per, 3),
          slopeHigh: significant(slope.high * per, 3),
        });
  // With all of the scatter along x any slope may be: then the two quantities may be unrelated.
  const level =
    slope.low === null || slope.high === null
      ? scatter !== null && scatter > 1
      : slope.low <= 0 && slope.high >= 0;
  return (
    <>
      <p>
        {say('lots.lineThroughNCellsErrorsIn', {
          n: line.n,
          slopeValue: significant(slope.value * per, 3),
          yUnitSymbol: yUnit.symbol,
          xUnitSymbol: xUnit.symbol,
          interval,
        })}
        {level && say('lots.itIsNotSignificantlyDifferentFrom')}
        {scatter !== null &&
          scatter > 1 &&
          say('lots.theCellsScatterAboutItBy', { scatter: significant(scatter, 2) })}
        {line.residualChecks !== null && ` ${said(residualSentence(line.residualChecks))}`}
        {leftOut.length > 0 &&
          say('lots.leftOutLeftOut', { leftOut: leftOut.map(({ serial }) => serial).join(', ') })}
      </p>
      <TextInput
        size="xs"
        label={say('lots.valueOnTheYAxisIn', { yUnitSymbol: yUnit.symbol })}
        value={at}
        error={readNumber(at).problem}
        onChange={(event) => setAt(event.currentTarget.value)}
      />
      {inverse !== null && (
        <p>
          {inverse.x === null
            ? say('lots.whereTheLineMeetsThatValue')
            : say('lots.theLineMeetsAtAtX', {
                at: quantity(inverse.at, y.unit, units),
                x: quantity(inverse.x, x.unit, units),
                inverseLow: quantity(inverse.low, x.unit, units),
                inverseHigh: quantity(inverse.high, x.unit, units),
                word: inverse.reason === 'outside-cells' ? say('lots.thatLiesBeyondTheMeasuredCells') : '',
              })}
        </p>
      )}
    </>
  );
}
