import type { ChargeLogColumn, ChargeLogRole } from './chargeLogColumns.ts';
import { isMissingText, parseNumber } from './fields.ts';
import { defaultLimits } from './limits.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { type DateOrder, isInstant, parseTimeText, timeFormatOf } from './timeText.ts';

/** The columns of a log by role, in the units we keep; one value a row. */
export type ChargeLogValues = ReadonlyMap<ChargeLogRole, Float64Array>;

/** Voltages of a stack may be higher than those of one cell. */
const STACK_VOLTAGE_MAX_V = 100;

/**
 * The values of a column in the unit we keep. Instants become seconds from the first row.
 *
 * @returns `startsAtS` the first row's instant in seconds since 1970; null where the column holds no instants
 * @throws RefusedFile naming the row where a value is missing, cannot be read, or cannot be
 */
export function columnValues(
  table: TableFile,
  column: ChargeLogColumn,
  dateOrder?: DateOrder,
): { readonly values: Float64Array; readonly startsAtS: number | null } {
  const { unit, index, role } = column;
  const { decimal } = table.dialect;
  const format =
    role === 'time'
      ? timeFormatOf(
          table.rows.map((row) => row[index]),
          dateOrder,
        )
      : 'number';
  if (format === 'ambiguous')
    throw new RefusedFile({
      code: 'ambiguous-date',
      row: table.lines[0],
      column: column.source,
      value: table.rows[0][index],
      reason: 'The dates can be read with the day or the month first',
      expected:
        'Dates with the year first, such as 2026-11-30 08:00:00, or the order stated with --date-order dmy or mdy',
    });
  const values = Float64Array.from(table.rows, (row, r) => {
    const text = row[index];
    const place = { row: table.lines[r], column: column.source, value: text };
    if (isMissingText(text))
      throw new RefusedFile({
        ...place,
        code: 'missing-value',
        reason: 'The value is missing',
        expected:
          'Every row of a stack log needs a value in each column used; leave the row or the column out',
      });
    const number = format === 'number' ? parseNumber(text, decimal) : parseTimeText(text, format);
    if (number === null)
      throw new RefusedFile({
        ...place,
        code: 'not-a-number',
        reason: 'Not a number',
        expected: 'A plain number',
      });
    const value = format === 'number' ? (number * unit.multiply) / unit.divide + unit.add : number;
    checkValue(role, value, place);
    return value;
  });
  if (!isInstant(format)) return { values, startsAtS: null };
  return { values: values.map((value) => value - values[0]), startsAtS: values[0] };
}

function checkValue(
  role: ChargeLogRole,
  value: number,
  place: { row: number; column: string; value: string },
): void {
  const { voltageMinV, currentMaxA, temperatureMinC, temperatureMaxC } = defaultLimits;
  if (!Number.isFinite(value))
    throw new RefusedFile({
      ...place,
      code: 'not-finite',
      reason: 'Too large to be kept',
      expected: 'A finite number',
    });
  if (/current$/.test(role) && Math.abs(value) > currentMaxA)
    throw new RefusedFile({
      ...place,
      code: 'impossible-current',
      reason: 'A current that no bench carries',
      expected: `At most ${currentMaxA} A of either sign`,
    });
  const highest = /^cell-voltage/.test(role) ? 6 : STACK_VOLTAGE_MAX_V;
  if (/voltage/.test(role) && !(value >= voltageMinV && value <= highest))
    throw new RefusedFile({
      ...place,
      code: 'impossible-voltage',
      reason: /^cell-voltage/.test(role)
        ? 'Not the voltage of one lithium cell'
        : 'Not a voltage of a stack or its source',
      expected: `Between ${voltageMinV} and ${highest} V`,
    });
  if (/temperature/.test(role) && !(value >= temperatureMinC && value <= temperatureMaxC))
    throw new RefusedFile({
      ...place,
      code: 'impossible-temperature',
      reason: 'Not a temperature of a cell or its surroundings',
      expected: `Between ${temperatureMinC} and ${temperatureMaxC} °C`,
    });
}
