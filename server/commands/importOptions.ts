import type { Command } from 'commander';
import { InvalidArgumentError } from 'commander';
import type { ImportOptions } from '../contract/import.ts';
import { importOptions } from '../contract/import.ts';
import { parseChoice } from '../import/columnChoice.ts';

/** What commander hands over for the options of an import. */
export interface ImportFlags {
  readonly lot: string;
  readonly cell?: string;
  readonly kind?: string;
  readonly testKind?: string;
  readonly temperature?: number;
  readonly startSoc?: number;
  readonly label?: string;
  readonly columns?: Record<string, string | null>;
  readonly units?: Record<string, string | null>;
  readonly currentSign?: string;
  readonly imaginarySign?: string;
  readonly runColumn?: string[];
  readonly delimiter?: string;
  readonly decimal?: string;
  readonly encoding?: string;
  readonly columnMap?: string;
  readonly namePattern?: string;
}

function choice(text: string): Record<string, string | null> {
  try {
    return parseChoice(text);
  } catch (error) {
    throw new InvalidArgumentError((error as Error).message);
  }
}

function number(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value))
    throw new InvalidArgumentError(`"${text}" is no number.`);
  return value;
}

/** Adds the options that say how files are read and what becomes of them. */
export function withImportOptions(command: Command): Command {
  return command
    .requiredOption('--lot <name>', 'the lot the cells belong to')
    .option('--cell <serial>', 'the cell, where the file does not name it')
    .option(
      '--kind <kind>',
      'record, cell-table, cycle-table, step-table or impedance-table; found from the header otherwise',
    )
    .option(
      '--test-kind <kind>',
      'pulse, capacity, rest, impedance or cycling; found from the record otherwise',
    )
    .option('--temperature <°C>', 'temperature of the test', number)
    .option('--start-soc <fraction>', 'state of charge at the first row, 0 to 1', number)
    .option('--label <text>', 'a label for the tests')
    .option('--columns <choice>', 'e.g. time=Test Time,voltage=U,current=I,temperature=none', choice)
    .option('--units <choice>', 'e.g. time=h,current=mA', choice)
    .option('--current-sign <sign>', 'charge-positive (default) or discharge-positive')
    .option(
      '--imaginary-sign <sign>',
      'imaginary part or phase: negative-capacitive or positive-capacitive; found otherwise',
    )
    .option('--run-column <name...>', 'columns whose change begins another run')
    .option('--delimiter <character>', 'comma, semicolon, tab or bar; found otherwise')
    .option('--decimal <mark>', 'point or comma; found otherwise')
    .option('--encoding <name>', 'utf-8 (default) or windows-1252')
    .option('--column-map <name>', 'a saved column map')
    .option('--name-pattern <pattern>', 'e.g. {cell}_{kind}_{temperature}C.csv, or the name of a saved one');
}

const words: Readonly<Record<string, string>> = {
  comma: ',',
  semicolon: ';',
  tab: '\t',
  bar: '|',
  point: '.',
};

/** The options of an import as the use case takes them. @throws RangeError naming what is wrong */
export function readImportFlags(flags: ImportFlags): ImportOptions {
  const { temperature, runColumn, delimiter, decimal, ...rest } = flags;
  const known = Object.keys(importOptions.shape);
  const parsed = importOptions.safeParse({
    ...Object.fromEntries(Object.entries(rest).filter(([name]) => known.includes(name))),
    ...(temperature === undefined ? {} : { temperatureC: temperature }),
    ...(runColumn === undefined ? {} : { runColumns: runColumn }),
    ...(delimiter === undefined ? {} : { delimiter: words[delimiter] ?? delimiter }),
    ...(decimal === undefined ? {} : { decimal: words[decimal] ?? decimal }),
  });
  if (parsed.success) return parsed.data;
  throw new RangeError(
    parsed.error.issues.map((issue) => `--${issue.path.join('.')}: ${issue.message}`).join('\n'),
  );
}
