import { isMissingText, parseNumber, splitFields } from './fields.ts';
import { type HeadLines, isRemark, passedOver } from './passedLines.ts';
import { RefusedFile } from './refusedFile.ts';
import { parseUnit } from './units.ts';

export type Delimiter = ',' | ';' | '\t' | '|';
export type Encoding = 'utf-8' | 'windows-1252' | 'utf-16le' | 'utf-16be';

/** How a text file writes its table, as found in its first lines. Line numbers are 1-based. */
export interface Dialect {
  readonly delimiter: Delimiter;
  readonly decimal: '.' | ',';
  readonly encoding: Encoding;
  readonly byteOrderMark: boolean;
  readonly lineEnd: 'lf' | 'crlf';
  /** Lines before the header, as they stand (at most 200 characters each). */
  readonly preamble: readonly string[];
  /** Line of the header; null where the file has none and columns are called "column 1", "column 2" …. */
  readonly headerLine: number | null;
  readonly unitsLine: number | null;
  readonly firstDataLine: number;
  /** Whether fields of the first lines are quoted. */
  readonly quoted: boolean;
}

/** What the first lines tell: the dialect, the header, the units row and the first rows as texts. */
export interface TableHead {
  readonly dialect: Dialect;
  readonly header: readonly string[];
  readonly units: readonly (string | null)[];
  /** The lines above the data, to recognise them where they are repeated within it. */
  readonly headLines: HeadLines;
  readonly firstRows: readonly (readonly string[])[];
}

export interface DialectOptions {
  readonly delimiter?: Delimiter;
  readonly decimal?: '.' | ',';
  readonly encoding?: 'utf-8' | 'windows-1252';
  /** The sheet of a workbook; the first one where left out. */
  readonly sheet?: string;
}

export const maxColumns = 512;
/** Longer texts are not names; and patterns over names of any length could take any time. */
const maxNameLength = 200;
const delimiters: readonly Delimiter[] = ['\t', ';', ',', '|'];
const linesLookedAt = 400;

/**
 * Finds out how a file writes its table.
 *
 * The header is the last line without numbers before the first line of data; a line between them that holds nothing but
 * units is the units row. The delimiter is the one that splits most lines into the same number of fields.
 *
 * @param sample the file's beginning, decoded; its last line is ignored unless `complete`.
 * @throws RefusedFile `empty-file`, `line-ends`, `too-many-columns`, `duplicate-column`, `no-rows`
 */
export function findDialect(
  sample: string,
  complete: boolean,
  encoding: Encoding,
  options: DialectOptions = {},
): TableHead {
  const byteOrderMark = sample.startsWith('\uFEFF');
  const text = byteOrderMark ? sample.slice(1) : sample;
  const lines = sampleLines(text, complete);
  const delimiter = options.delimiter ?? findDelimiter(lines);
  const rows = lines.map((line) => splitFields(line, delimiter));
  const decimal = options.decimal ?? findDecimal(rows, delimiter);
  const { headerAt, unitsAt, dataAt } = findHeader(lines, rows, decimal);
  const width = dataAt < rows.length ? rows[dataAt].length : rows[headerAt ?? 0].length;
  const header = headerAt === null ? rows[dataAt].map((_, i) => `column ${i + 1}`) : [...rows[headerAt]];
  while (header.length < width && rows[dataAt]?.[header.length] === '') header.push('');
  checkHeader(header, headerAt === null ? null : headerAt + 1);
  const unitRow = unitsAt === null ? null : rows[unitsAt];
  const firstLine = headerAt ?? dataAt;
  const headLines = { header: headerAt === null ? [] : header, units: unitRow ?? [], delimiter };
  const isPassed = (line: string, fields: readonly string[]): boolean =>
    passedOver(line, headLines, fields.length !== header.length) !== null;
  return {
    dialect: {
      delimiter,
      decimal,
      encoding,
      byteOrderMark,
      lineEnd: /\r\n/.test(text) ? 'crlf' : 'lf',
      preamble: lines.slice(0, firstLine).map((line) => line.slice(0, 200)),
      headerLine: headerAt === null ? null : headerAt + 1,
      unitsLine: unitsAt === null ? null : unitsAt + 1,
      firstDataLine: dataAt + 1,
      quoted: lines.slice(firstLine).some((line) => line.includes('"')),
    },
    header,
    units: header.map((_, i) => {
      const unit = unitRow?.[i]?.replace(/^[([{]|[)\]}]$/g, '') ?? '';
      return unit === '' ? null : unit;
    }),
    headLines,
    firstRows: rows
      .slice(dataAt)
      .filter((_, i) => lines[dataAt + i].trim() !== '' && !isPassed(lines[dataAt + i], rows[dataAt + i])),
  };
}

function sampleLines(text: string, complete: boolean): string[] {
  if (text.trim() === '') {
    throw new RefusedFile({
      code: 'empty-file',
      reason: 'The file is empty',
      expected: 'A file needs a header line and at least one row',
    });
  }
  const firstLine = text.indexOf('\n');
  if (/\r[^\n\r]/.test(firstLine < 0 ? text : text.slice(0, firstLine))) {
    throw new RefusedFile({
      code: 'line-ends',
      row: 1,
      reason: 'Lines end with a lone carriage return',
      expected: 'Save the file with LF or CR LF line ends',
    });
  }
  const lines = text.split('\n', linesLookedAt + 1).map((line) => line.replace(/\r$/, ''));
  if (lines.length > linesLookedAt || !complete) lines.pop();
  while (lines.length > 0 && lines[lines.length - 1].trim() === '') lines.pop();
  if (lines.length === 0) {
    throw new RefusedFile({
      code: 'line-too-long',
      row: 1,
      reason: 'The first line does not end within the first 256 KiB',
      expected: 'A table of text lines',
    });
  }
  return lines;
}

/** The delimiter under which most lines have the same number of fields, at least two; more fields break a tie. */
function findDelimiter(lines: readonly string[]): Delimiter {
  let best: Delimiter = ',';
  let bestScore = 0;
  for (const delimiter of delimiters) {
    const counts = new Map<number, number>();
    for (const line of lines) {
      if (line.trim() === '') continue;
      const fields = splitFields(line, delimiter).length;
      if (fields > 1) counts.set(fields, (counts.get(fields) ?? 0) + 1);
    }
    for (const [fields, times] of counts) {
      // Decimal commas make "1,5;2,5" look like three comma-separated fields: the semicolon comes first and wins ties.
      const score = times + Math.min(fields, 100) / 1000;
      const margin = delimiter === ',' ? 0.6 : 0;
      if (score - margin > bestScore) {
        bestScore = score;
        best = delimiter;
      }
    }
  }
  return best;
}

function findDecimal(rows: readonly (readonly string[])[], delimiter: Delimiter): '.' | ',' {
  let commas = 0;
  let points = 0;
  for (const row of rows) {
    for (const field of row) {
      if (/^[+-]?(\d*|\d{1,3}(\.\d{3})+),\d+([eE][+-]?\d+)?$/.test(field)) commas++;
      else if (/^[+-]?(\d*|\d{1,3}(,\d{3})+)\.\d+([eE][+-]?\d+)?$/.test(field)) points++;
    }
  }
  // With comma as delimiter a decimal comma can only stand in quotes, where "1,234" could also be a grouped number.
  return commas > (delimiter === ',' ? 3 * points : points) ? ',' : '.';
}

function findHeader(lines: readonly string[], rows: readonly (readonly string[])[], decimal: '.' | ',') {
  const numbers = rows.map((row) => row.filter((f) => parseNumber(f, decimal) !== null).length);
  const isData = (i: number): boolean =>
    rows[i].length > 1 && numbers[i] >= 1 && numbers[i] * 4 >= rows[i].length;
  let dataAt = rows.findIndex((row, i) => {
    if (!isData(i)) return false;
    const next = rows.findIndex((_, j) => j > i && lines[j].trim() !== '' && !isRemark(lines[j]));
    return next < 0 || rows[next].length === row.length || isData(next);
  });
  if (dataAt < 0) {
    // No numbers anywhere: the first line with the most fields is the header of a table of words.
    const width = Math.max(...rows.map((row) => row.length));
    const headerAt = rows.findIndex((row) => row.length === width);
    return { headerAt, unitsAt: null, dataAt: headerAt + 1 };
  }
  const data = rows[dataAt];
  let unitsAt: number | null = null;
  let headerAt: number | null = null;
  // The line nearest to the data that could be the header but for values that the data has: a row with missing ones.
  let gappy: number | null = null;
  for (let i = dataAt - 1; i >= 0 && headerAt === null; i--) {
    if (lines[i].trim() === '' || rows[i].length < 2) continue;
    const named = isHeaderFor(rows[i], data.length);
    if (unitsAt === null && isUnitsRow(rows[i], data) && i > 0 && rows[i - 1].length > 1) unitsAt = i;
    else if (!named && !(numbers[i] === 0 && rows[i].length >= data.length)) break;
    else if (lacksValues(rows[i], data)) gappy ??= i;
    else if (named || gappy === null) headerAt = i;
    else break;
  }
  headerAt ??= gappy;
  if (headerAt === null || (unitsAt !== null && unitsAt < headerAt)) unitsAt = null;
  // Rows of text right below the header (a first row without numbers) still are data.
  if (headerAt !== null) {
    const after = (unitsAt ?? headerAt) + 1;
    const first = rows.findIndex((_, i) => i >= after && lines[i].trim() !== '');
    if (first >= 0 && first < dataAt) dataAt = first;
  }
  return { headerAt, unitsAt, dataAt };
}

function isHeaderFor(row: readonly string[], width: number): boolean {
  const named = row.filter((field) => field !== '' && parseNumber(field, '.') === null).length;
  return Math.abs(row.length - width) <= 1 && named * 2 > row.length;
}

/** Whether a line has nothing in a column in which the first line of numbers has something. */
function lacksValues(row: readonly string[], data: readonly string[]): boolean {
  return data.some((field, i) => !isMissingText(field) && isMissingText(row[i] ?? ''));
}

/** Units stand above numbers and times only: a cell may be called A or V. */
function isUnitsRow(row: readonly string[], data: readonly string[]): boolean {
  const bare = row.map((field) => field.replace(/^[([{]|[)\]}]$/g, ''));
  const known = bare.filter((field) => parseUnit(field) !== null).length;
  const misplaced = bare.some(
    (field, i) =>
      parseUnit(field) !== null && !isMissingText(data[i] ?? '') && !/^[+-]?[.,]?\d/.test(data[i]),
  );
  if (misplaced) return false;
  const empty = bare.filter((field) => isMissingText(field)).length;
  return known > 0 && known + empty >= row.length * 0.6;
}

function checkHeader(header: readonly string[], line: number | null): void {
  if (header.length > maxColumns) {
    throw new RefusedFile({
      code: 'too-many-columns',
      row: line,
      value: String(header.length),
      reason: `The file has ${header.length} columns`,
      expected: `At most ${maxColumns} columns are taken`,
    });
  }
  const long = header.find((name) => name.length > maxNameLength);
  if (long !== undefined) {
    throw new RefusedFile({
      code: 'field-too-long',
      row: line,
      value: long,
      reason: `A column's name is longer than ${maxNameLength} characters`,
      expected: 'Give the columns short names',
    });
  }
  const seen = new Set<string>();
  for (const name of header) {
    if (name !== '' && seen.has(name)) {
      throw new RefusedFile({
        code: 'duplicate-column',
        row: line,
        column: name,
        reason: 'Two columns have the same name',
        expected: 'Give every column its own name',
      });
    }
    seen.add(name);
  }
}
