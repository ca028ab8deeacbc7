import type { Command } from 'commander';
import { InvalidArgumentError } from 'commander';
import type { ReadingOptions } from '../contract/readingOptions.ts';
import { readingOptions } from '../contract/readingOptions.ts';
import { parseChoice } from '../import/columnChoice.ts';

/** What commander hands over for the options that say how a file is read. */
export interface ReadingFlags {
  readonly columns?: Record<string, string | null>;
  readonly units?: Record<string, string | null>;
  readonly currentSign?: string;
  readonly imaginarySign?: string;
  readonly runColumn?: string[];
  readonly delimiter?: string;
  readonly decimal?: string;
  readonly encoding?: string;
  readonly sheet?: string;
  readonly dateOrder?: string;
  readonly joinSegments?: string;
  readonly segmentColumn?: string;
  readonly afterData?: string;
}

/** Reads `ROLE=NAME,…` of an option. @throws InvalidArgumentError */
export function choice(text: string): Record<string, string | null> {
  try {
    return parseChoice(text);
  } catch (error) {
    throw new InvalidArgumentError((error as Error).message);
  }
}

/** A number of an option that is 0 or more. @throws InvalidArgumentError */
export function notNegative(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value >= 0 && Number.isFinite(value)))
    throw new InvalidArgumentError('It must be a number, 0 or more.');
  return value;
}

/** Adds the options that say how a file is read; every command that reads files has the same. */
export function withReadingOptions(command: Command): Command {
  return withWritingOptions(
    command
      .option('--columns <choice>', 'e.g. time=Test Time,voltage=U,current=I,temperature=none', choice)
      .option('--units <choice>', 'e.g. time=h,current=mA', choice)
      .option('--current-sign <sign>', 'charge-positive (default) or discharge-positive'),
  );
}

/** The same without columns, units and sign, for commands that have those in their own words. */
export function withWritingOptions(command: Command): Command {
  return command
    .option('--run-column <name...>', 'columns whose change begins another run')
    .option('--delimiter <character>', 'comma, semicolon, tab or bar; found otherwise')
    .option('--decimal <mark>', 'point or comma; found otherwise')
    .option('--encoding <name>', 'utf-8 or windows-1252; found otherwise')
    .option('--sheet <name>', 'sheet of a workbook; the first one otherwise')
    .option('--date-order <order>', 'dmy or mdy, where the dates of the file leave day and month open')
    .option(
      '--join-segments <how>',
      'where time starts again within a run: gap=SECONDS, date=COLUMN, or overlap (rows written twice are cut)',
    )
    .option(
      '--segment-column <name>',
      'column whose change begins a segment; where time runs backwards otherwise',
    )
    .option('--after-data <choice>', 'lines after the data that are not rows: leave-out or refuse');
}

const words: Readonly<Record<string, string>> = {
  comma: ',',
  semicolon: ';',
  tab: '\t',
  bar: '|',
  point: '.',
};

/** The options of {@link withWritingOptions} alone. @throws RangeError naming what is wrong */
export function readWritingFlags(flags: object): ReadingOptions {
  const {
    columns: _columns,
    units: _units,
    currentSign: _sign,
    imaginarySign: _imaginary,
    ...own
  } = flags as ReadingFlags;
  return readReadingFlags(own);
}

/** The options of a file's reading as the readers take them. @throws RangeError naming what is wrong */
export function readReadingFlags(flags: ReadingFlags): ReadingOptions {
  const parsed = readingOptions.safeParse(readingFields(flags));
  if (parsed.success) return parsed.data;
  throw new RangeError(
    parsed.error.issues.map((issue) => `--${issue.path.join('.')}: ${issue.message}`).join('\n'),
  );
}

/** The same, not yet checked, for commands with further options. @throws RangeError for segments that cannot be read */
export function readingFields(flags: ReadingFlags): Record<string, unknown> {
  const { columns, units, currentSign, imaginarySign, runColumn, encoding, sheet, dateOrder, afterData } =
    flags;
  const { delimiter, decimal } = flags;
  const fields = {
    columns,
    units,
    currentSign,
    imaginarySign,
    runColumns: runColumn,
    delimiter: delimiter === undefined ? undefined : (words[delimiter] ?? delimiter),
    decimal: decimal === undefined ? undefined : (words[decimal] ?? decimal),
    encoding,
    sheet,
    dateOrder,
    afterData,
    segments: segmentsOf(flags),
  };
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined));
}

function segmentsOf({ joinSegments, segmentColumn }: ReadingFlags): ReadingOptions['segments'] {
  if (joinSegments === undefined) {
    if (segmentColumn === undefined) return undefined;
    throw new RangeError('--segment-column: say how the segments follow each other with --join-segments');
  }
  const [how, value] = [joinSegments.split('=')[0], joinSegments.split('=').slice(1).join('=')];
  const column = segmentColumn === undefined ? {} : { column: segmentColumn };
  if (how === 'overlap' && value === '') return { follow: 'overlap', ...column };
  if (how === 'date') return { follow: 'date', ...(value === '' ? {} : { dateColumn: value }), ...column };
  const gapS = Number(value);
  if (how === 'gap' && value !== '' && gapS >= 0 && Number.isFinite(gapS))
    return { follow: 'gap', gapS, ...column };
  throw new RangeError(
    `--join-segments: "${joinSegments}" cannot be read; write gap=SECONDS, date=COLUMN or overlap`,
  );
}
