import type { LotLine } from '../contract/lotLine.ts';
import { residualSentence } from '../contract/residualChecks.ts';
import { plusMinus } from './plusMinus.ts';

const reasons: Readonly<Record<NonNullable<LotLine['reason']>, string>> = {
  'too-few-cells': 'fewer than four cells have both quantities',
  'uncertainty-not-stated':
    'the values state no uncertainty; give that of one value with --x-uncertainty and --y-uncertainty',
  'no-spread': 'all cells have one value of a quantity',
};

/** A value with its standard error, or with its interval where that reaches farther to one side. */
function reaching({ value, standardError, low, high }: NonNullable<LotLine['slope']>, unit: string): string {
  if (low === null || high === null || standardError === null) return plusMinus(value, standardError, unit);
  const isEven = Math.abs(high + low - 2 * value) < 0.1 * (high - low);
  return isEven
    ? plusMinus(value, standardError, unit)
    : `${value.toPrecision(3)} ${unit} (95 % ${low.toPrecision(3)} to ${high.toPrecision(3)})`;
}

/** The line between two quantities of a lot as text. */
export function tellLotLine(line: LotLine): string {
  const { x, y, intercept, slope, scatter, inverse, leftOut } = line;
  if (slope === null || intercept === null)
    return `No line: ${line.reason === null ? 'it could not be fitted' : reasons[line.reason]}.`;
  const lines = [
    `${y.column} = ${reaching(intercept, y.unit ?? '')} + ${reaching(slope, `${y.unit ?? ''} per ${x.unit ?? ''}`)} × ${x.column}, ${line.n} cells (errors in both)`,
  ];
  const isOpen = slope.low === null || slope.high === null;
  if (isOpen ? scatter !== null && scatter > 1 : (slope.low ?? 0) <= 0 && (slope.high ?? 0) >= 0)
    lines.push(
      'The slope is not significantly different from zero (95 %): the two quantities may be unrelated.',
    );
  if (scatter !== null && scatter > 1)
    lines.push(
      `The cells scatter about the line by ${scatter.toPrecision(2)} times their uncertainties. Which of the two quantities that scatter belongs to, the values do not tell: the line is that with all of it in ${y.column}, and the intervals reach to that with all of it in ${x.column}${isOpen ? ', which may have any slope' : ''}.`,
    );
  if (line.residualChecks !== null) lines.push(residualSentence(line.residualChecks));
  if (leftOut.length > 0)
    lines.push(`Left out: ${leftOut.map(({ serial, reason }) => `${serial} (${reason})`).join(', ')}.`);
  if (inverse !== null)
    lines.push(
      inverse.x === null || inverse.low === null || inverse.high === null
        ? `Where the line meets ${inverse.at} ${y.unit}: the interval is open, so no value is given.`
        : `The line meets ${inverse.at} ${y.unit} at ${inverse.x.toPrecision(5)} ${x.unit}, 95 % ${inverse.low.toPrecision(5)} to ${inverse.high.toPrecision(5)}${inverse.reason === 'outside-cells' ? '; that is beyond the cells' : ''}.`,
    );
  return lines.join('\n');
}
