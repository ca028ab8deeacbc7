import { say } from '../words/i18n.ts';
import { type Axis, axisName, type Picture } from './picture.ts';

/** A picture as a table: its columns and its rows, of numbers, names and gaps. */
export interface PictureTable {
  readonly columns: readonly string[];
  readonly rows: readonly (readonly (string | number | null)[])[];
}

/** Everything a picture shows as rows: the points of its series, its limits, and its fields where they carry a value. */
export function pictureTable(picture: Picture): PictureTable {
  const named = picture.series.some((s) => s.points.some((p) => p.name !== undefined));
  const rows: (string | number | null)[][] = [];
  for (const series of picture.series) {
    for (const point of series.points) {
      if (point.y === null && point.name === undefined) continue;
      const row = [series.name, tick(picture.x, point.x), tick(axisOf(picture, series.axis), point.y)];
      rows.push(named ? [...row, point.name ?? null] : row);
    }
  }
  for (const line of picture.lines ?? []) {
    const row = line.axis === 'x' ? [line.name, line.at, null] : [line.name, null, line.at];
    rows.push(named ? [...row, null] : row);
  }
  const columns = [say('charts.series'), axisName(picture.x), axisName(picture.y)];
  if (named) columns.push(say('charts.name'));
  const fields = (picture.areas ?? []).filter((a) => a.value !== undefined || a.name !== undefined);
  return rows.length === 0 && fields.length > 0
    ? fieldTable(picture, fields)
    : { columns, rows: [...rows, ...fieldRows(fields, named)] };
}

type Field = NonNullable<Picture['areas']>[number];

function fieldTable(picture: Picture, fields: readonly Field[]): PictureTable {
  if (picture.field !== undefined) {
    return {
      columns: [axisName(picture.x), axisName(picture.y), axisName(picture.field)],
      rows: fields.map((f) => [f.at?.x ?? null, f.at?.y ?? null, f.value ?? null]),
    };
  }
  const valued = fields.some((f) => f.value !== undefined);
  return {
    columns: [
      say('charts.what'),
      say('charts.xFrom', { x: axisName(picture.x) }),
      say('charts.xTo', { x: axisName(picture.x) }),
      axisName(picture.y),
      ...(valued ? [say('charts.value')] : []),
    ],
    rows: fields.map((f) => {
      const middle = f.low === undefined || f.high === undefined ? null : (f.low + f.high) / 2;
      const row = [f.name ?? '', f.from, f.to, tick(picture.y, middle)];
      return valued ? [...row, f.value ?? null] : row;
    }),
  };
}

function fieldRows(fields: readonly Field[], named: boolean): (string | number | null)[][] {
  return fields.map((f) => {
    const row = [f.name ?? '', f.from, f.value ?? null];
    return named ? [...row, null] : row;
  });
}

function axisOf(picture: Picture, axis: 'y' | 'y2' | undefined): Axis {
  return axis === 'y2' && picture.y2 !== undefined ? picture.y2 : picture.y;
}

function tick(axis: Axis, value: number | null): string | number | null {
  return axis.ticks?.find((t) => t.at === value)?.name ?? value;
}

/** The table as CSV (RFC 4180): full precision, decimal points, CRLF. */
export function tableCsv(table: PictureTable): string {
  return [table.columns, ...table.rows]
    .map((row) => row.map(csvField).join(','))
    .join('\r\n')
    .concat('\r\n');
}

/**
 * One CSV field. A text that a spreadsheet would take for a formula gets an apostrophe in front, so that opening a
 * file never runs what somebody wrote into a serial.
 */
function csvField(value: string | number | null): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(value);
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A name for a downloaded file made from a title: small letters, digits and hyphens. */
export function fileName(title: string, extension: string): string {
  const base = title
    .toLowerCase()
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '');
  return `${base === '' ? 'chart' : base}.${extension}`;
}
