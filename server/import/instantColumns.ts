import { requireColumn } from './columnChoice.ts';
import { columnMapping } from './columnMapping.ts';
import type { TableHead } from './dialect.ts';
import { parseNumber } from './fields.ts';
import type { NumberColumn } from './numberColumn.ts';
import type { PlanOptions, SegmentOptions } from './planOptions.ts';
import type { NamedColumn } from './proposeColumns.ts';
import { RefusedFile } from './refusedFile.ts';
import { areSerialDays, type TimeFormat, timeFormatOf } from './timeText.ts';

/** The format of a column of times. @throws RefusedFile `ambiguous-date` where day and month can be either */
export function formatOf(
  head: TableHead,
  column: NamedColumn,
  role: string,
  options: PlanOptions,
): TimeFormat {
  const texts = head.firstRows.map((row) => row[column.index] ?? '');
  const format = timeFormatOf(texts, options.dateOrder);
  if (format === 'ambiguous') {
    const value = texts.find((text) => text !== '') ?? '';
    throw new RefusedFile({
      code: 'ambiguous-date',
      row: head.dialect.firstDataLine,
      column: column.source,
      value,
      reason: `The dates of the ${role} can be read with the day or the month first`,
      expected: 'Say which with --date-order dmy or --date-order mdy',
    });
  }
  if (format !== 'number' || column.unit !== null || !/\b(date|datetime|timestamp)\b/.test(column.name))
    return format;
  const numbers = texts.filter((text) => text !== '').map((text) => parseNumber(text, head.dialect.decimal));
  return areSerialDays(numbers) ? 'day-serial' : format;
}

/** The column of instants by which segments follow, read as a number of seconds. */
export function dateColumn(
  head: TableHead,
  columns: readonly NamedColumn[],
  numbers: NumberColumn[],
  { dateColumn: name }: SegmentOptions,
  options: PlanOptions,
): { place: number; format: TimeFormat } {
  const column =
    name === undefined
      ? columns.find((one) => /\b(date|datetime|timestamp)\b/.test(one.name))
      : columns[requireColumn(head.header, name, head.dialect.headerLine)];
  if (column === undefined)
    throw new RefusedFile({
      code: 'missing-column',
      row: head.dialect.headerLine,
      column: 'date',
      reason: 'No column is recognised as the instants by which the segments follow each other',
      expected: `Columns are ${head.header.map((one) => `"${one}"`).join(', ')}; say which with --join-segments date=NAME`,
    });
  const format = formatOf(head, column, 'segments', options);
  const known = numbers.findIndex(({ mapping }) => mapping.index === column.index);
  if (known >= 0) return { place: known, format };
  return { place: addInstants(numbers, column), format };
}

/** Names of a column of clock times that are times of day where a date stands beside them. */
const timeOfDay = /^(time|clock|clock time|time of day|local time|real time|system time)$/;

/** The column of dates beside times of day, read as the seconds at which the day begins. */
export function dayColumn(
  head: TableHead,
  columns: readonly NamedColumn[],
  time: NamedColumn,
  numbers: NumberColumn[],
  options: PlanOptions,
): { place: number; format: TimeFormat } | null {
  if (!timeOfDay.test(time.name)) return null;
  const column = columns.find(({ name }) => /\b(date|day)\b/.test(name));
  if (column === undefined || numbers.some(({ mapping }) => mapping.index === column.index)) return null;
  const texts = head.firstRows.map((row) => row[column.index] ?? '');
  if (texts.some((text) => text === '' || /[\s:]/.test(text))) return null;
  const format = formatOf(withMidnight(head, column.index), column, 'date', options);
  if (format === 'number' || format === 'clock' || format === 'day-serial') return null;
  return { place: addInstants(numbers, column), format };
}

/** The first rows with a time of day behind the date of one column, so that it is read as an instant. */
function withMidnight(head: TableHead, at: number): TableHead {
  return { ...head, firstRows: head.firstRows.map((row) => row.map((f, i) => (i === at ? `${f} 0:00` : f))) };
}

/** Has a column read as seconds. @returns its place among the numbers */
function addInstants(numbers: NumberColumn[], column: NamedColumn): number {
  numbers.push({
    mapping: { ...columnMapping('extra', column, null, null, false), unit: 's', keptUnit: 's' },
    unit: null,
    negate: false,
    required: true,
  });
  return numbers.length - 1;
}
