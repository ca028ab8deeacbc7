import { SaxesParser } from 'saxes';
import { RefusedFile } from '../refusedFile.ts';
import { plainField } from './linesSource.ts';

type Open = (name: string) => Promise<AsyncIterable<Buffer>>;

/** What a workbook says besides its sheets' rows. */
export interface Workbook {
  readonly sheets: readonly { readonly name: string; readonly path: string }[];
  readonly strings: readonly string[];
  /** By cell style: whether its number is a date or a time. */
  readonly isDate: readonly boolean[];
  /** Days count from 1904 instead of 1900. */
  readonly from1904: boolean;
}

/** More columns than this are not a table. */
const maxColumns = 2000;
/** Empty rows before a row that a sheet may have; each becomes a line. */
const maxGap = 100_000;

/** Number formats of ECMA-376 part 1, 18.8.30, that show a date or a time. */
const builtInDates = new Set([14, 15, 16, 17, 18, 19, 20, 21, 22, 45, 46, 47]);

/** Sheets in their order, shared texts and date formats of a workbook. @throws RefusedFile where its XML is broken */
export async function readWorkbook(open: Open, names: readonly string[]): Promise<Workbook> {
  const sheets: { name: string; id: string }[] = [];
  let from1904 = false;
  await parse(await open('xl/workbook.xml'), (name, attributes) => {
    if (name === 'sheet')
      sheets.push({ name: attributes.name ?? '', id: attributes['r:id'] ?? attributes.id ?? '' });
    if (name === 'workbookPr') from1904 = /^(1|true)$/.test(attributes.date1904 ?? '');
  });
  const targets = new Map<string, string>();
  await parse(await open('xl/_rels/workbook.xml.rels'), (name, attributes) => {
    if (name === 'Relationship') targets.set(attributes.Id ?? '', attributes.Target ?? '');
  });
  return {
    sheets: sheets.map(({ name, id }) => {
      const target = targets.get(id) ?? '';
      return { name, path: target.startsWith('/') ? target.slice(1) : `xl/${target}` };
    }),
    strings: names.includes('xl/sharedStrings.xml') ? await sharedStrings(open) : [],
    isDate: names.includes('xl/styles.xml') ? await dateStyles(open) : [],
    from1904,
  };
}

async function sharedStrings(open: Open): Promise<string[]> {
  const strings: string[] = [];
  let text = '';
  let inText = false;
  let inReading = false;
  await parse(
    await open('xl/sharedStrings.xml'),
    (name) => {
      if (name === 'si') text = '';
      if (name === 'rPh') inReading = true;
      inText = name === 't' && !inReading;
    },
    (piece) => {
      if (inText) text += piece;
    },
    (name) => {
      if (name === 't') inText = false;
      if (name === 'rPh') inReading = false;
      if (name === 'si') strings.push(text);
    },
  );
  return strings;
}

async function dateStyles(open: Open): Promise<boolean[]> {
  const dates = new Set(builtInDates);
  const styles: boolean[] = [];
  let inCellStyles = false;
  await parse(
    await open('xl/styles.xml'),
    (name, attributes) => {
      if (name === 'numFmt' && showsDate(attributes.formatCode ?? '')) dates.add(Number(attributes.numFmtId));
      if (name === 'cellXfs') inCellStyles = true;
      if (name === 'xf' && inCellStyles) styles.push(dates.has(Number(attributes.numFmtId ?? 0)));
    },
    undefined,
    (name) => {
      if (name === 'cellXfs') inCellStyles = false;
    },
  );
  return styles;
}

/** A format with letters of date or time outside quotes, escapes and brackets. `[h]:mm` counts hours and is not a date. */
function showsDate(format: string): boolean {
  const bare = format.replace(/"[^"]*"|\\.|\[[^\]]*\]/g, '');
  return /[ymdhs]/i.test(bare) && !/\[[hms]+\]/i.test(format);
}

/** The rows of a sheet as lines, in constant memory. @throws RefusedFile naming the row whose cell holds an error */
export async function* readSheetRows(open: Open, path: string, workbook: Workbook): AsyncGenerator<string> {
  const parser = new SaxesParser({ xmlns: false });
  let text = '';
  let line = 0;
  let row: string[] = [];
  let cell = { at: 0, kind: '', style: 0 };
  let value = '';
  let taking = false;
  parser.on('opentag', ({ name, attributes }) => {
    const local = localName(name);
    if (local === 'row') {
      row = [];
      const number = attributes.r === undefined ? line + 1 : Number(attributes.r);
      if (number - line > maxGap) throw tooFar(number);
      while (line < number - 1) {
        text += '\n';
        line++;
      }
    } else if (local === 'c') {
      const at = attributes.r === undefined ? row.length : columnOf(String(attributes.r));
      if (at >= maxColumns) throw tooWide(line + 1);
      cell = { at, kind: String(attributes.t ?? ''), style: Number(attributes.s ?? 0) };
      value = '';
    } else if (local === 'v' || local === 't') taking = true;
  });
  parser.on('text', (piece) => {
    if (taking) value += piece;
  });
  parser.on('closetag', ({ name }) => {
    const local = localName(name);
    if (local === 'v' || local === 't') taking = false;
    else if (local === 'c') {
      while (row.length < cell.at) row.push('');
      row[cell.at] = cellText(cell, value, workbook);
    } else if (local === 'row') {
      text += `${row.join('\t')}\n`;
      line++;
    }
  });
  const decoder = new TextDecoder();
  try {
    for await (const piece of await open(path)) {
      parser.write(decoder.decode(piece, { stream: true }));
      if (text === '') continue;
      yield text;
      text = '';
    }
    parser.write(decoder.decode()).close();
  } catch (error) {
    throw error instanceof RefusedFile ? error : brokenXml(error as Error);
  }
  if (text !== '') yield text;
}

function cellText(
  { kind, style }: { kind: string; style: number },
  value: string,
  { strings, isDate, from1904 }: Workbook,
): string {
  if (kind === 's') return plainField(strings[Number(value)] ?? '');
  if (kind === 'b') return value === '1' ? 'true' : 'false';
  if (kind === '' || kind === 'n') {
    if (value !== '' && isDate[style]) return dateText(Number(value), from1904);
    return value.trim();
  }
  // An error such as #DIV/0! stays as it stands, so that its row is refused by name.
  return plainField(value);
}

/** A serial day as an instant; below one day it is a time of day. ECMA-376 part 1, 18.17.4. */
function dateText(serial: number, from1904: boolean): string {
  if (!Number.isFinite(serial)) return '';
  if (serial < 1 && !from1904) return clockText(serial);
  const ms = Math.round((serial - (from1904 ? 24107 : 25569)) * 86_400_000);
  return new Date(ms).toISOString().replace('T', ' ').replace('Z', '');
}

function clockText(days: number): string {
  return new Date(Math.round(days * 86_400_000)).toISOString().slice(11, 23);
}

function localName(name: string): string {
  const colon = name.indexOf(':');
  return colon < 0 ? name : name.slice(colon + 1);
}

/** Place of a cell such as `AB12`, 0 for column A. */
function columnOf(reference: string): number {
  let at = 0;
  for (const letter of reference) {
    const code = letter.charCodeAt(0) - 64;
    if (code < 1 || code > 26) break;
    at = at * 26 + code;
  }
  return at - 1;
}

async function parse(
  pieces: AsyncIterable<Buffer>,
  onOpen: (name: string, attributes: Record<string, string>) => void,
  onText?: (text: string) => void,
  onClose?: (name: string) => void,
): Promise<void> {
  const parser = new SaxesParser({ xmlns: false });
  parser.on('opentag', ({ name, attributes }) =>
    onOpen(localName(name), attributes as Record<string, string>),
  );
  if (onText !== undefined) parser.on('text', onText);
  if (onClose !== undefined) parser.on('closetag', ({ name }) => onClose(localName(name)));
  const decoder = new TextDecoder();
  try {
    for await (const piece of pieces) parser.write(decoder.decode(piece, { stream: true }));
    parser.write(decoder.decode()).close();
  } catch (error) {
    throw error instanceof RefusedFile ? error : brokenXml(error as Error);
  }
}

function brokenXml(error: Error): RefusedFile {
  return new RefusedFile({
    code: 'corrupt-compression',
    reason: `The spreadsheet is damaged (${error.message.slice(0, 120)})`,
    expected: 'Save it again, or export CSV text',
  });
}

function tooFar(row: number): RefusedFile {
  return new RefusedFile({
    code: 'too-many-rows',
    row,
    reason: `The sheet has more than ${maxGap} empty rows before this one`,
    expected: 'A table without such a gap',
  });
}

function tooWide(row: number): RefusedFile {
  return new RefusedFile({
    code: 'too-many-columns',
    row,
    reason: `The sheet has more than ${maxColumns} columns`,
    expected: 'A table of measured values',
  });
}
