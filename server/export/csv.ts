/** What a field of a CSV file may hold; null becomes an empty field. */
export type CsvValue = string | number | boolean | null;

/** A number as text that reads back to the same float64, also where it is minus zero. */
export function numberText(value: number): string {
  return Object.is(value, -0) ? '-0' : String(value);
}

/** A field after RFC 4180: quoted where it holds a comma, a quote, a line break or a space at an end. */
export function csvField(value: CsvValue): string {
  if (value === null) return '';
  if (typeof value === 'number') return numberText(value);
  if (typeof value === 'boolean') return value ? 'true' : 'false';
  // An empty text is quoted so that it differs from a missing value for readers that can tell them apart.
  if (value === '') return '""';
  return /[",\r\n]|^\s|\s$/.test(value) ? `"${value.replaceAll('"', '""')}"` : value;
}

/** A table after RFC 4180: comma, CRLF, point as decimal sign, a header line. */
export function csvText(header: readonly string[], rows: Iterable<readonly CsvValue[]>): string {
  const lines = [header.map(csvField).join(',')];
  for (const row of rows) lines.push(row.map(csvField).join(','));
  return `${lines.join('\r\n')}\r\n`;
}
