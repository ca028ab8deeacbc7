import type { Command } from 'commander';
import { InvalidArgumentError } from 'commander';
import type { ImportOptions } from '../contract/import.ts';
import { importOptions } from '../contract/import.ts';
import { type ReadingFlags, readingFields, withReadingOptions } from './readingOptions.ts';

/** What commander hands over for the options of an import. */
export interface ImportFlags extends ReadingFlags {
  readonly lot: string;
  readonly cell?: string;
  readonly kind?: string;
  readonly testKind?: string;
  readonly temperature?: number;
  readonly startSoc?: number;
  readonly label?: string;
  readonly columnMap?: string;
  readonly namePattern?: string;
  readonly wholeCells?: boolean;
  readonly again?: boolean;
}

function number(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value))
    throw new InvalidArgumentError(`"${text}" is not a number.`);
  return value;
}

/** Adds the options that say how files are read and what becomes of them. */
export function withImportOptions(command: Command): Command {
  return withReadingOptions(
    command
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
      .option(
        '--imaginary-sign <sign>',
        'imaginary part or phase: negative-capacitive or positive-capacitive; found otherwise',
      )
      .option('--column-map <name>', 'a saved column map')
      .option('--name-pattern <pattern>', 'e.g. {cell}_{kind}_{temperature}C.csv, or the name of a saved one')
      .option('--whole-cells', 'of a file of several cells take those whose rows are all right')
      .option('--again', 'take bytes that were taken before, for another cell'),
  );
}

/** The options of an import as the use case takes them. @throws RangeError naming what is wrong */
export function readImportFlags(flags: ImportFlags): ImportOptions {
  const {
    temperature,
    startSoc,
    lot,
    cell,
    kind,
    testKind,
    label,
    columnMap,
    namePattern,
    wholeCells,
    again,
  } = flags;
  const own = {
    lot,
    cell,
    kind,
    testKind,
    label,
    columnMap,
    namePattern,
    wholeCells,
    again,
    temperatureC: temperature,
    startSoc,
  };
  const parsed = importOptions.safeParse({
    ...Object.fromEntries(Object.entries(own).filter(([, value]) => value !== undefined)),
    ...readingFields(flags),
  });
  if (parsed.success) return parsed.data;
  throw new RangeError(
    parsed.error.issues.map((issue) => `--${issue.path.join('.')}: ${issue.message}`).join('\n'),
  );
}
