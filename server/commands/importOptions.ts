import type { Command } from 'commander';
import { InvalidArgumentError } from 'commander';
import type { ImportOptions } from '../contract/import.ts';
import { importOptions } from '../contract/import.ts';
import { type ReadingFlags, readingFields, withReadingOptions } from './readingOptions.ts';

/** What commander hands over for the options of an import. */
export interface ImportFlags extends ReadingFlags {
  readonly lot?: string;
  readonly cell?: string;
  readonly kind?: string;
  readonly testKind?: string;
  readonly temperature?: number;
  readonly startSoc?: number;
  readonly label?: string;
  readonly columnMap?: string;
  readonly namePattern?: string;
  readonly wholeCells?: boolean;
  readonly runsTogether?: boolean;
  readonly again?: boolean;
  readonly stack?: string;
  readonly cycle?: number;
  readonly efc?: number;
  readonly startedAt?: string;
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
      .option('--lot <name>', 'the lot the cells belong to; a stack log has that of its stack')
      .option('--cell <serial>', 'the cell, where the file does not name it')
      .option(
        '--kind <kind>',
        'record, stack-log, cell-table, cycle-table, step-table or impedance-table; found from the header otherwise',
      )
      .option(
        '--test-kind <kind>',
        'pulse, capacity, rest, impedance or cycling; found from the record otherwise',
      )
      .option('--temperature <°C>', 'temperature of the test', number)
      .option('--start-soc <fraction>', 'state of charge at the first row, 0 to 1', number)
      .option('--label <text>', 'a label for the tests')
      .option('--stack <name>', 'the stack that a stack log is of')
      .option('--cycle <number>', 'cycles that the stack of a stack log had behind it', number)
      .option('--efc <number>', 'equivalent full cycles that it had behind it', number)
      .option('--started-at <instant>', 'when a stack log begins, e.g. 2026-11-30T08:00:00Z')
      .option(
        '--imaginary-sign <sign>',
        'imaginary part or phase: negative-capacitive or positive-capacitive; found otherwise',
      )
      .option('--column-map <name>', 'a saved column map')
      .option('--name-pattern <pattern>', 'e.g. {cell}_{kind}_{temperature}C.csv, or the name of a saved one')
      .option(
        '--runs-together',
        'evaluate the runs that a file holds of a cell as one record, each kept as a test of its own',
      )
      .option('--whole-cells', 'of a file of several cells take those whose rows are all right')
      .option('--again', 'take bytes that were taken before, for another cell')
      .hook('preAction', (_, acting) => {
        const { lot, stack } = acting.opts<ImportFlags>();
        if (lot === undefined && stack === undefined)
          acting.error(
            "error: required option '--lot <name>' not specified, nor '--stack <name>' of a stack log",
          );
      }),
  );
}

/** Options that an import calls as the command does. */
const sameNames = [
  'lot',
  'cell',
  'kind',
  'testKind',
  'startSoc',
  'label',
  'columnMap',
  'namePattern',
  'wholeCells',
  'runsTogether',
  'again',
  'stack',
  'cycle',
  'efc',
  'startedAt',
] as const satisfies readonly (keyof ImportFlags & keyof ImportOptions)[];

/** The options of an import as the use case takes them. @throws RangeError naming what is wrong */
export function readImportFlags(flags: ImportFlags): ImportOptions {
  const own = {
    ...Object.fromEntries(sameNames.map((name) => [name, flags[name]])),
    temperatureC: flags.temperature,
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
