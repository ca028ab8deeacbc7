import { gzipSync } from 'node:zlib';
import { strToU8, zipSync } from 'fflate';
import { parquetWriteBuffer } from 'hyparquet-writer';
import { seededRandom } from '../../fitting/statistics/random.ts';
import type { ImportOptions } from '../../server/contract/import.ts';

/** A file as lines of fields, before it is written in a dialect and a container. */
export interface Grid {
  readonly preamble: readonly string[];
  readonly header: readonly string[];
  readonly units: readonly string[] | null;
  readonly rows: readonly (readonly string[])[];
  readonly footer: readonly string[];
}

/** One way in which a bench writes the record of {@link truth}. */
export interface Shape {
  readonly name: string;
  readonly fileName: string;
  readonly grid: Grid;
  /** Column of the voltage in the grid. */
  readonly voltageAt: number;
  readonly options: ImportOptions;
  readonly write: (grid: Grid) => Buffer;
}

export interface Sample {
  readonly timeS: number;
  readonly voltageV: number;
  readonly currentA: number;
  readonly temperatureC: number;
}

/** A pulse test of 48 s as every shape writes it: rests, two discharges and two charges at 2 A. */
export function truth(): Sample[] {
  const random = seededRandom(48);
  return Array.from({ length: 48 }, (_, i) => {
    const phase = Math.floor(i / 6);
    const currentA = phase % 2 === 0 ? 0 : phase % 4 === 1 ? -2 : 2;
    const voltageV = Number((3.7 + 0.03 * currentA - 0.001 * phase + 0.0002 * random()).toFixed(4));
    return { timeS: i, voltageV, currentA, temperatureC: Number((25 + 0.1 * random()).toFixed(1)) };
  });
}

/** Date and time of a second after 2026-11-30 08:00:00. */
function clockOf(timeS: number): { hours: number; minutes: string; seconds: string } {
  return {
    hours: 8 + Math.floor(timeS / 3600),
    minutes: String(Math.floor(timeS / 60) % 60).padStart(2, '0'),
    seconds: String(timeS % 60).padStart(2, '0'),
  };
}

const fixed = (value: number, digits: number): string => value.toFixed(digits);
const usual = (s: Sample): string[] => [fixed(s.timeS, 1), fixed(s.voltageV, 4), fixed(s.currentA, 3)];
const usualHeader = ['time_s', 'voltage_V', 'current_A'];
const phaseOf = (s: Sample): number => Math.floor(s.timeS / 6);

interface Change {
  readonly preamble?: readonly string[];
  readonly header?: readonly string[];
  readonly units?: readonly string[];
  readonly row?: (sample: Sample, i: number) => readonly string[];
  readonly rows?: readonly (readonly string[])[];
  readonly footer?: readonly string[];
  readonly voltageAt?: number;
  readonly fileName?: string;
  readonly options?: ImportOptions;
  readonly write?: Shape['write'];
}

interface Dialect {
  readonly delimiter?: string;
  readonly decimal?: ',' | '.';
  readonly lineEnd?: string;
  readonly quoted?: boolean;
  /** Cuts the end of the text. */
  readonly cut?: number;
}

/** A grid as text in a dialect. */
export function textOf(
  grid: Grid,
  { delimiter = ',', decimal = '.', lineEnd = '\n', quoted, cut = 0 }: Dialect = {},
): string {
  const field = (text: string): string => {
    const written = decimal === ',' && /^[+-]?\d*\.\d+$/.test(text) ? text.replace('.', ',') : text;
    return quoted ? `"${written}"` : written;
  };
  const lines = [
    ...grid.preamble,
    ...(grid.header.length === 0 ? [] : [grid.header.map(field).join(delimiter)]),
    ...(grid.units === null ? [] : [grid.units.join(delimiter)]),
    ...grid.rows.map((row) => row.map(field).join(delimiter)),
    ...grid.footer,
  ];
  const text = `${lines.join(lineEnd)}${lineEnd}`;
  return cut === 0 ? text : text.slice(0, -cut);
}

const inDialect =
  (dialect: Dialect, encode: (text: string) => Buffer = (text) => Buffer.from(text)) =>
  (grid: Grid): Buffer =>
    encode(textOf(grid, dialect));

const utf16be = (text: string): Buffer => Buffer.from(text, 'utf16le').swap16();

/** A workbook with the grid in one of its sheets. Texts that are numbers become number cells. */
export function workbook(
  grid: Grid,
  { sheet = 'Data', first = null as string | null, dates = -1 } = {},
): Buffer {
  const shared: string[] = [];
  const cell = (text: string, at: number, line: number): string => {
    const place = `${String.fromCharCode(65 + at)}${line}`;
    if (text === '') return '';
    if (/^[+-]?\d+(\.\d+)?(e[+-]?\d+)?$/i.test(text))
      return `<c r="${place}"${at === dates ? ' s="1"' : ''}><v>${text}</v></c>`;
    const index = shared.indexOf(text) >= 0 ? shared.indexOf(text) : shared.push(text) - 1;
    return `<c r="${place}" t="s"><v>${index}</v></c>`;
  };
  const lines: readonly string[][] = [
    ...grid.preamble.map((line) => [line]),
    [...grid.header],
    ...(grid.units === null ? [] : [[...grid.units]]),
    ...grid.rows.map((row) => [...row]),
    ...grid.footer.map((line) => [line]),
  ];
  const rows = lines
    .map((line, i) => `<row r="${i + 1}">${line.map((text, at) => cell(text, at, i + 1)).join('')}</row>`)
    .join('');
  const escaped = (text: string) => text.replace(/&/g, '&amp;').replace(/</g, '&lt;');
  const sheets = first === null ? [sheet] : [first, sheet];
  const empty =
    '<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>see the next sheet</t></is></c></row></sheetData></worksheet>';
  const files: Record<string, Uint8Array> = {
    '[Content_Types].xml': strToU8('<Types/>'),
    'xl/workbook.xml': strToU8(
      `<workbook xmlns:r="r"><sheets>${sheets.map((name, i) => `<sheet name="${name}" sheetId="${i + 1}" r:id="rId${i + 1}"/>`).join('')}</sheets></workbook>`,
    ),
    'xl/_rels/workbook.xml.rels': strToU8(
      `<Relationships>${sheets.map((_, i) => `<Relationship Id="rId${i + 1}" Target="worksheets/sheet${i + 1}.xml"/>`).join('')}</Relationships>`,
    ),
    'xl/styles.xml': strToU8(
      '<styleSheet><numFmts><numFmt numFmtId="170" formatCode="yyyy\\-mm\\-dd hh:mm:ss"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="170"/></cellXfs></styleSheet>',
    ),
    [`xl/worksheets/sheet${sheets.length}.xml`]: strToU8(
      `<worksheet><sheetData>${rows}</sheetData></worksheet>`,
    ),
    'xl/sharedStrings.xml': strToU8(
      `<sst>${shared.map((text) => `<si><t>${escaped(text)}</t></si>`).join('')}</sst>`,
    ),
  };
  if (first !== null) files['xl/worksheets/sheet1.xml'] = strToU8(empty);
  return Buffer.from(zipSync(files));
}

/** A Parquet file; a column of numbers throughout becomes float64, any other text. */
export function parquet({ header, rows }: Grid): Buffer {
  const columnData = header.map((name, at) => {
    const texts = rows.map((row) => row[at] ?? '');
    const numeric = texts.every((text) => /^[+-]?\d+(\.\d+)?$/.test(text));
    return numeric
      ? { name, data: texts.map(Number), type: 'DOUBLE' as const }
      : { name, data: texts, type: 'STRING' as const };
  });
  return Buffer.from(parquetWriteBuffer({ columnData }));
}

function shape(name: string, change: Change = {}): Shape {
  const samples = truth();
  const row = change.row ?? usual;
  return {
    name,
    fileName: change.fileName ?? 'record.csv',
    grid: {
      preamble: change.preamble ?? [],
      header: change.header ?? usualHeader,
      units: change.units ?? null,
      rows: change.rows ?? samples.map((sample, i) => row(sample, i)),
      footer: change.footer ?? [],
    },
    voltageAt: change.voltageAt ?? 1,
    options: { cell: 'C-1', ...change.options },
    write: change.write ?? inDialect({}),
  };
}

const named = (time: string, row: (sample: Sample) => string): Change => ({
  header: [time, 'voltage_V', 'current_A'],
  row: (s) => [row(s), ...usual(s).slice(1)],
});

/** Milli units with their thousands in groups. */
function millivolts(group: string, decimal = '.'): Change {
  const grouped = (value: number, digits: number): string => {
    const [whole, part] = fixed(Math.abs(value), digits).split('.');
    const groups = whole.replace(/\B(?=(\d{3})+$)/g, group);
    return `${value < 0 ? '-' : ''}${groups}${decimal}${part}`;
  };
  return {
    header: ['Time [s]', 'Voltage [mV]', 'Current [mA]'],
    row: (s) => [
      fixed(s.timeS, 1).replace('.', decimal),
      grouped(s.voltageV * 1000, 1),
      grouped(s.currentA * 1000, 1),
    ],
  };
}

/** Every shape: the dialects, encodings, times, signs, segments, ends and containers that benches write. */
export function shapes(): Shape[] {
  const at = (s: Sample) => clockOf(s.timeS);
  const german = { header: ['Zeit (s)', 'Spannung [V]', 'Strom [A]', 'Temperatur (°C)'] };
  const withTemperature = (s: Sample) => [...usual(s), fixed(s.temperatureC, 1)];
  const segments = (s: Sample) => [
    String(Math.floor(s.timeS / 12) + 1),
    fixed(s.timeS % 12, 1),
    ...usual(s).slice(1),
  ];
  const doubled = truth().flatMap((s, i) =>
    i === 24 ? [...truth().slice(20, 24).map(usual), usual(s)] : [usual(s)],
  );
  return [
    shape('plain'),
    shape('semicolon and decimal comma', { write: inDialect({ delimiter: ';', decimal: ',' }) }),
    shape('tabs', { write: inDialect({ delimiter: '\t' }) }),
    shape('bars', { write: inDialect({ delimiter: '|' }) }),
    shape('CR LF', { write: inDialect({ lineEnd: '\r\n' }) }),
    shape('byte order mark', { write: inDialect({}, (text) => Buffer.from(`\uFEFF${text}`)) }),
    shape('UTF-16 with its mark', {
      write: inDialect({}, (text) => Buffer.from(`\uFEFF${text}`, 'utf16le')),
    }),
    shape('UTF-16 with the other byte order', { write: inDialect({}, (text) => utf16be(`\uFEFF${text}`)) }),
    shape('UTF-16 without a mark', {
      write: inDialect({ delimiter: '\t' }, (text) => Buffer.from(text, 'utf16le')),
    }),
    shape('UTF-16 without a mark, other byte order', { write: inDialect({}, utf16be) }),
    shape('Windows-1252', {
      ...german,
      row: withTemperature,
      write: inDialect({ delimiter: ';' }, (text) => Buffer.from(text, 'latin1')),
    }),
    shape('gzip', { write: inDialect({}, (text) => gzipSync(text)), fileName: 'record.csv.gz' }),
    shape('preamble of fields', {
      preamble: ['Channel: 7', 'Schedule: pulse 2 A', 'Cell ID: C-1', 'Temperature: 25 °C', ''],
      options: { cell: undefined },
    }),
    shape('units row', { header: ['Time', 'Voltage', 'Current'], units: ['s', 'V', 'A'] }),
    shape('units row in brackets', { header: ['Time', 'Voltage', 'Current'], units: ['[s]', '[V]', '[A]'] }),
    shape('quoted', { write: inDialect({ quoted: true }) }),
    shape('quoted decimal commas', { write: inDialect({ quoted: true, decimal: ',' }) }),
    shape('milli units', {
      header: ['time (ms)', 'U (mV)', 'I (mA)'],
      row: (s) => [String(s.timeS * 1000), fixed(s.voltageV * 1000, 1), fixed(s.currentA * 1000, 0)],
    }),
    shape(
      'minutes',
      named('time_min', (s) => fixed(s.timeS / 60, 9)),
    ),
    shape(
      'hours',
      named('Test Time (h)', (s) => fixed(s.timeS / 3600, 11)),
    ),
    shape(
      'hours, minutes, seconds',
      named('Time', (s) => `${at(s).hours}:${at(s).minutes}:${at(s).seconds}`),
    ),
    shape(
      'ISO instants',
      named('Time', (s) => `2026-11-30 08:${at(s).minutes}:${at(s).seconds}.000`),
    ),
    shape(
      'd.m.Y',
      named('Datum', (s) => `30.11.2026 8:${at(s).minutes}:${at(s).seconds}`),
    ),
    shape(
      'm/d/Y that can be nothing else',
      named('Date Time', (s) => `11/30/2026 08:${at(s).minutes}:${at(s).seconds}`),
    ),
    shape(
      'd/m/Y that can be nothing else',
      named('Date Time', (s) => `30/11/2026 08:${at(s).minutes}:${at(s).seconds}`),
    ),
    shape(
      'Y/m/d with AM and PM',
      named('DateTime', (s) => `2026/11/30 8:${at(s).minutes}:${at(s).seconds} PM`),
    ),
    shape('m/d/Y of which the order was asked', {
      ...named('Date Time', (s) => `3/4/2026 08:${at(s).minutes}:${at(s).seconds}`),
      options: { dateOrder: 'mdy' },
    }),
    shape(
      'serial days of a spreadsheet',
      named('DateTime', (s) => fixed(46356.375 + s.timeS / 86400, 9)),
    ),
    shape('time of the step alone', {
      header: ['Step', 'Step Time (s)', 'Voltage (V)', 'Current (A)'],
      // The first sample of a step comes a second after its beginning, but for the first step.
      row: (s) => [
        String(phaseOf(s)),
        fixed(phaseOf(s) === 0 ? s.timeS : (s.timeS % 6) + 1, 1),
        ...usual(s).slice(1),
      ],
      voltageAt: 2,
    }),
    shape('time that starts again with every segment', {
      header: ['segment', 'time_s', 'voltage_V', 'current_A'],
      row: segments,
      voltageAt: 2,
      options: { segments: { follow: 'gap', gapS: 1, column: 'segment' } },
    }),
    shape('time that starts again, gap given, no column', {
      row: (s) => [fixed(s.timeS % 12, 1), ...usual(s).slice(1)],
      options: { segments: { follow: 'gap', gapS: 1 } },
    }),
    shape('time that starts again, joined by a date', {
      header: ['time_s', 'voltage_V', 'current_A', 'Date'],
      row: (s) => [
        fixed(s.timeS % 12, 1),
        ...usual(s).slice(1),
        `2026-11-30 08:${at(s).minutes}:${at(s).seconds}`,
      ],
      options: { segments: { follow: 'date', dateColumn: 'Date' } },
    }),
    shape('rows written twice', { rows: doubled, options: { segments: { follow: 'overlap' } } }),
    shape('a footer', { footer: ['', 'End of test', 'Capacity: 0.0033 Ah'] }),
    shape('a summary in columns', { footer: ['Total,,0.0033', 'Operator,shift 2,'] }),
    shape('a last line cut short, left out', {
      footer: ['48.0,3.7'],
      write: inDialect({ cut: 1 }),
      options: { afterData: 'leave-out' },
    }),
    shape('discharge positive', {
      row: (s) => [...usual(s).slice(0, 2), fixed(0 - s.currentA, 3)],
      options: { currentSign: 'discharge-positive' },
    }),
    shape('unsigned current with a state', {
      header: ['time_s', 'voltage_V', 'current_A', 'State'],
      row: (s) => [
        ...usual(s).slice(0, 2),
        fixed(Math.abs(s.currentA), 3),
        s.currentA === 0 ? 'Rest' : s.currentA > 0 ? 'Charge' : 'Discharge',
      ],
    }),
    shape('unsigned current with a step type', {
      header: ['Step Type', 'time_s', 'voltage_V', 'current_A'],
      row: (s) => [
        s.currentA === 0 ? 'Rest' : s.currentA > 0 ? 'CC_Chg' : 'CC_DChg',
        ...usual(s).slice(0, 2),
        fixed(Math.abs(s.currentA), 3),
      ],
      voltageAt: 2,
    }),
    shape('unsigned current with letters', {
      header: ['time_s', 'voltage_V', 'current_A', 'Md'],
      row: (s) => [
        ...usual(s).slice(0, 2),
        fixed(Math.abs(s.currentA), 3),
        s.currentA === 0 ? 'R' : s.currentA > 0 ? 'C' : 'D',
      ],
    }),
    shape('charge and discharge current apart', {
      header: ['time_s', 'voltage_V', 'Charge Current (A)', 'Discharge Current (A)'],
      row: (s) => [
        ...usual(s).slice(0, 2),
        fixed(Math.max(0, s.currentA), 3),
        fixed(Math.max(0, -s.currentA), 3),
      ],
    }),
    shape('a column of the cell', {
      header: ['Cell S/N', ...usualHeader],
      row: (s) => ['C-1', ...usual(s)],
      voltageAt: 2,
      options: { cell: undefined },
    }),
    shape('German names', {
      ...german,
      row: withTemperature,
      write: inDialect({ delimiter: ';', decimal: ',' }),
    }),
    shape('French names', {
      header: ['Temps (s)', 'Tension (V)', 'Courant (A)', 'Température (°C)'],
      row: withTemperature,
      write: inDialect({ delimiter: ';', decimal: ',' }),
    }),
    shape('units behind a stroke, kelvins', {
      header: ['Time/s', 'Voltage/mV', 'Current/mA', 'Temp/K'],
      row: (s) => [
        fixed(s.timeS, 1),
        fixed(s.voltageV * 1000, 1),
        fixed(s.currentA * 1000, 0),
        fixed(s.temperatureC + 273.15, 2),
      ],
    }),
    shape('microvolts and microamperes', {
      header: ['t [ms]', 'U [µV]', 'I [µA]'],
      row: (s) => [String(s.timeS * 1000), fixed(s.voltageV * 1e6, 0), fixed(s.currentA * 1e6, 0)],
    }),
    shape('digits in groups, by commas', { ...millivolts(','), write: inDialect({ delimiter: ';' }) }),
    shape('digits in groups, by points', {
      ...millivolts('.', ','),
      write: inDialect({ delimiter: ';' }),
    }),
    shape('digits in groups, by apostrophes', millivolts('’')),
    shape('digits in groups, by blanks that do not break', {
      ...millivolts('\u202f', ','),
      write: inDialect({ delimiter: '\t' }),
    }),
    shape('zeros with a minus', {
      row: (s) => [...usual(s).slice(0, 2), s.currentA === 0 ? '-0.000' : fixed(s.currentA, 3)],
    }),
    shape('lines that end with a carriage return', { write: inDialect({ lineEnd: '\r' }) }),
    shape('names with line breaks', {
      header: ['"Time\n(s)"', '"Voltage\n(V)"', '"Current\n(A)"'],
    }),
    shape('notes with line breaks', {
      header: [...usualHeader, 'note'],
      row: (s, i) => [...usual(s), i % 9 === 4 ? '"seen, \nand again\n"' : ''],
    }),
    shape('columns set apart by blanks', {
      row: (s) => usual(s).map((text) => text.padStart(10)),
      write: inDialect({ delimiter: '  ' }),
    }),
    shape('names of two words, columns set apart by blanks', {
      header: ['Test Time (s)', 'Voltage (V)', 'Current (A)'],
      row: (s) => usual(s).map((text) => text.padStart(12)),
      write: inDialect({ delimiter: '   ' }),
    }),
    shape('comments within the data', {
      rows: truth().flatMap((s, i) => (i % 15 === 7 ? [['# range changed', ''], usual(s)] : [usual(s)])),
    }),
    shape('header and units repeated within the data', {
      header: ['Time', 'Voltage', 'Current'],
      units: ['s', 'V', 'A'],
      rows: truth().flatMap((s, i) =>
        i === 12 || i === 36 ? [['Time', 'Voltage', 'Current'], ['s', 'V', 'A'], usual(s)] : [usual(s)],
      ),
    }),
    shape('header repeated before rows that begin with the cell', {
      header: ['cell', ...usualHeader],
      rows: truth().flatMap((s, i) =>
        i === 30
          ? [
              ['cell', ...usualHeader],
              ['C-1', ...usual(s)],
            ]
          : [['C-1', ...usual(s)]],
      ),
      voltageAt: 2,
      options: { cell: undefined },
    }),
    shape('a date beside the time of day, past midnight', {
      header: ['Date', 'Time', 'Voltage (V)', 'Current (A)'],
      row: (s) => {
        const late = s.timeS < 20;
        const seconds = String((s.timeS + 40) % 60).padStart(2, '0');
        return [
          late ? '30.11.2026' : '01.12.2026',
          `${late ? '23:59' : '00:00'}:${seconds}`,
          ...usual(s).slice(1),
        ];
      },
      voltageAt: 2,
    }),
    shape('a date beside the time of day with AM and PM', {
      header: ['Time', 'Date', 'Voltage (V)', 'Current (A)'],
      row: (s) => [
        s.timeS < 20 ? `11:59:${s.timeS + 40} AM` : `12:00:${String(s.timeS - 20).padStart(2, '0')} PM`,
        '11/30/2026',
        ...usual(s).slice(1),
      ],
      voltageAt: 2,
    }),
    shape('a header of three lines', {
      preamble: ['Elapsed,Cell,Cell', 'Time,Voltage,Current'],
      header: ['(s)', '(V)', '(A)'],
    }),
    shape('UTF-16, semicolons, decimal commas, preamble, units row and footer together', {
      preamble: ['Prüfstand: 4', ''],
      header: ['Zeit', 'Spannung', 'Strom'],
      units: ['s', 'V', 'A'],
      footer: ['', 'Ende der Prüfung'],
      write: inDialect({ delimiter: ';', decimal: ',', lineEnd: '\r\n' }, (text) =>
        Buffer.from(`\uFEFF${text}`, 'utf16le'),
      ),
    }),
    shape('exponents', {
      row: (s) => [fixed(s.timeS, 1), `${(s.voltageV * 10).toFixed(3)}e-1`, s.currentA.toExponential(2)],
    }),
    shape('texts beside the numbers', {
      header: [...usualHeader, 'remark'],
      row: (s, i) => [...usual(s), i % 7 === 0 ? 'checked by hand' : ''],
    }),
    shape('no header', {
      header: [],
      options: { columns: { time: 'column 1', voltage: 'column 2', current: 'column 3' } },
    }),
    shape('a spreadsheet', { write: (grid) => workbook(grid), fileName: 'record.xlsx' }),
    shape('a spreadsheet with a preamble', {
      preamble: ['Bench 4', 'Operator: shift 2'],
      write: (grid) => workbook(grid),
      fileName: 'record.xlsx',
    }),
    shape('the second sheet of a workbook', {
      write: (grid) => workbook(grid, { first: 'Info' }),
      fileName: 'record.xlsx',
      options: { sheet: 'Data' },
    }),
    shape('a spreadsheet with dates', {
      ...named('Time', (s) => fixed(46356.375 + s.timeS / 86400, 9)),
      write: (grid) => workbook(grid, { dates: 0 }),
      fileName: 'record.xlsx',
    }),
    shape('Parquet', { write: parquet, fileName: 'record.parquet' }),
  ];
}
