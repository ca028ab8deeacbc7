/**
 * How a time column is written: a number, hours:minutes:seconds, a wall-clock instant with its date in one of three orders,
 * or the serial days of a spreadsheet.
 */
export type TimeFormat = 'number' | 'clock' | 'instant' | 'instant-dmy' | 'instant-mdy' | 'day-serial';
/** Order of day and month where a file's own dates leave both open. */
export type DateOrder = 'dmy' | 'mdy';

const clock =
  /^(?:(\d+)(?:d\s*|\s+|\.(?=\d+:)))?(\d+):([0-5]?\d):([0-5]?\d(?:[.,]\d+)?)(?:\s*([ap])\.?m\.?)?$/i;
const instant =
  /^(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})[ T,]+(\d{1,2}):(\d\d)(?::(\d\d)(?:[.,](\d{1,9}))?)?\s*([ap]\.?m\.?)?Z?$/i;

/** Serial days of spreadsheets from 1954 to 2119; day 25569 is 1 January 1970 (ECMA-376 part 1, 18.17.4.1). */
const serialDays = [20_000, 80_000] as const;
const EPOCH_DAY = 25_569;

/** Whether times of a format are instants, seconds since 1970 in UTC. */
export function isInstant(format: TimeFormat): boolean {
  return format.startsWith('instant') || format === 'day-serial';
}

/**
 * The format of a time column's first values; a number unless every value says otherwise. A date with points has its day
 * first (DIN 1355); one with strokes or dashes only where a value above 12 or the order given says which part is the day.
 *
 * @returns `ambiguous` where every date can be read with day or month first
 */
export function timeFormatOf(
  texts: readonly string[],
  order?: DateOrder,
): Exclude<TimeFormat, 'day-serial'> | 'ambiguous' {
  const present = texts.map((text) => text.trim()).filter((text) => text !== '');
  if (present.length === 0) return 'number';
  if (present.every((text) => clock.test(text))) return 'clock';
  const found = present.map((text) => instant.exec(text));
  if (found.some((match) => match === null)) return 'number';
  const dates = found as RegExpExecArray[];
  if (dates.every((match) => match[1].length === 4)) return 'instant';
  if (!dates.every((match) => match[4].length === 4)) return 'number';
  if (dates.every((match) => match[2] === '.')) return 'instant-dmy';
  if (order !== undefined) return order === 'dmy' ? 'instant-dmy' : 'instant-mdy';
  const dayFirst = dates.some((match) => Number(match[1]) > 12);
  const dayLast = dates.some((match) => Number(match[3]) > 12);
  if (dayFirst === dayLast) return dayFirst ? 'number' : 'ambiguous';
  return dayFirst ? 'instant-dmy' : 'instant-mdy';
}

/** Whether numbers of a column of dates are serial days of a spreadsheet. */
export function areSerialDays(numbers: readonly (number | null)[]): boolean {
  return (
    numbers.length > 0 &&
    numbers.every((number) => number !== null && number > serialDays[0] && number < serialDays[1])
  );
}

/** Seconds since 1970 of a serial day, to the millisecond that a spreadsheet keeps. */
export function secondsOfSerial(days: number): number {
  return Math.round((days - EPOCH_DAY) * 86_400_000) / 1000;
}

/**
 * Seconds of `12:34:56.789`, `1d 02:00:00`, or of `2026-01-31 08:00:00.5`, `31.1.2026 8:00`, `1/31/2026 8:00:00 PM` (UTC,
 * seconds since 1970).
 *
 * @returns null where the text is not of that format.
 */
export function parseTimeText(
  text: string,
  format: Exclude<TimeFormat, 'number' | 'day-serial'>,
): number | null {
  return format === 'clock' ? parseClock(text.trim()) : parseInstant(text.trim(), format);
}

function parseClock(text: string): number | null {
  const match = clock.exec(text);
  if (match === null) return null;
  // Whole seconds and the decimal text are joined before reading, so that the result is the nearest float64.
  const [wholeText, decimals = ''] = match[4].split(/[.,]/);
  const half = match[5]?.toLowerCase();
  const hours = Number(match[2]);
  if (half !== undefined && (hours < 1 || hours > 12)) return null;
  const hour = half === undefined ? hours : (hours % 12) + (half === 'p' ? 12 : 0);
  const whole = Number(match[1] ?? 0) * 86400 + hour * 3600 + Number(match[3]) * 60 + Number(wholeText);
  return decimals === '' ? whole : Number(`${whole}.${decimals}`);
}

function parseInstant(text: string, format: 'instant' | 'instant-dmy' | 'instant-mdy'): number | null {
  const match = instant.exec(text);
  if (match === null) return null;
  const [, first, , middle, last, hourText, minute, second = '0', fraction, half] = match;
  const [year, month, day] = (
    format === 'instant'
      ? [first, middle, last]
      : format === 'instant-dmy'
        ? [last, middle, first]
        : [last, first, middle]
  ).map(Number);
  let hour = Number(hourText);
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return null;
    hour = (hour % 12) + (/^p/i.test(half) ? 12 : 0);
  }
  const ms = Date.UTC(year, month - 1, day, hour, Number(minute), Number(second));
  const date = new Date(ms);
  if (date.getUTCDate() !== day || date.getUTCMonth() !== month - 1 || hour > 23) return null;
  return fraction === undefined ? ms / 1000 : Number(`${ms / 1000}.${fraction}`);
}
