/** How a time column is written: a number, hours:minutes:seconds, or a wall-clock instant. */
export type TimeFormat = 'number' | 'clock' | 'instant';

const clock = /^(?:(\d+)(?:d\s*|\s+|\.(?=\d+:)))?(\d+):([0-5]?\d):([0-5]?\d(?:[.,]\d+)?)$/;
const instant = /^(\d{4})[-/](\d\d)[-/](\d\d)[ T](\d\d):(\d\d):(\d\d)(?:[.,](\d{1,9}))?Z?$/;

/** The format of a time column's first values; a number unless every value says otherwise. */
export function timeFormatOf(texts: readonly string[]): TimeFormat {
  const present = texts.filter((text) => text !== '');
  if (present.length === 0) return 'number';
  if (present.every((text) => clock.test(text))) return 'clock';
  if (present.every((text) => instant.test(text))) return 'instant';
  return 'number';
}

/**
 * Seconds of `12:34:56.789`, `1d 02:00:00`, or `2026-01-31 08:00:00.5` (UTC, seconds since 1970).
 *
 * @returns null where the text is not of that format.
 */
export function parseTimeText(text: string, format: 'clock' | 'instant'): number | null {
  if (format === 'clock') {
    const match = clock.exec(text.trim());
    if (match === null) return null;
    // Whole seconds and the decimal text are joined before reading, so that the result is the nearest float64.
    const [wholeText, decimals = ''] = match[4].split(/[.,]/);
    const whole =
      Number(match[1] ?? 0) * 86400 + Number(match[2]) * 3600 + Number(match[3]) * 60 + Number(wholeText);
    return decimals === '' ? whole : Number(`${whole}.${decimals}`);
  }
  const match = instant.exec(text.trim());
  if (match === null) return null;
  const [, year, month, day, hour, minute, second, fraction] = match;
  const ms = Date.UTC(
    Number(year),
    Number(month) - 1,
    Number(day),
    Number(hour),
    Number(minute),
    Number(second),
  );
  const date = new Date(ms);
  if (date.getUTCDate() !== Number(day) || date.getUTCMonth() !== Number(month) - 1) return null;
  return fraction === undefined ? ms / 1000 : Number(`${ms / 1000}.${fraction}`);
}
