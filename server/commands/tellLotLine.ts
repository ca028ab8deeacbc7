import type { LotLine } from '../contract/lotLine.ts';
import { residualSentence } from '../contract/residualChecks.ts';
import { plusMinus } from './plusMinus.ts';

const reasons: Readonly<Record<NonNullable<LotLine['reason']>, string>> = {
  'too-few-cells': 'fewer than four cells have both quantities',
  'uncertainty-not-stated':
    'the values state no uncertainty; give that of one value with --x-uncertainty and --y-uncertainty',
  'no-spread': 'all cells have one value of a quantity',
};

/** The line between two quantities of a lot as text. */
export function tellLotLine(line: LotLine): string {
  const { x, y, intercept, slope, scatter, inverse, leftOut } = line;
  if (slope === null || intercept === null)
    return `No line: ${line.reason === null ? 'it could not be fitted' : reasons[line.reason]}.`;
  const lines = [
    `${y.column} = ${plusMinus(intercept.value, intercept.standardError, y.unit ?? '')} + ${plusMinus(slope.value, slope.standardError, `${y.unit ?? ''} per ${x.unit ?? ''}`)} × ${x.column}, ${line.n} cells (errors in both)`,
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
