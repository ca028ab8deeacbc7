import type { Command } from 'commander';
import type { RecordColumns } from '../../fitting/records/index.ts';
import { evaluatePulseRecord } from '../assess/pulse/evaluatePulseRecord.ts';
import { namesSoc, socOfColumn } from '../assess/pulse/socColumn.ts';
import type { EvaluatedPulseRecord, PulseSettings } from '../contract/pulseRecord.ts';
import { fieldError, Refusal } from '../errors.ts';
import { parseChoice } from '../import/columnChoice.ts';
import { type RecordFile, readRecordFile, readRecordRuns } from '../import/readRecordFile.ts';
import { describePulseRecord } from './describePulseRecord.ts';
import { printJson } from './program.ts';
import { readWritingFlags, withWritingOptions } from './readingOptions.ts';
import { recordWithCounter } from './recordWithCounter.ts';
import { joinedLine, joinRunsOfCell, withTogetherOptions } from './runsTogether.ts';
import { summaries } from './summaries.ts';

interface PulseOptions {
  readonly columns?: string;
  readonly units?: string;
  readonly currentSign?: string;
  readonly run?: string;
  readonly together?: boolean;
  readonly runGap?: number;
  readonly chargeColumn?: string;
  readonly ratedCapacity?: string;
  readonly cellCapacity?: string;
  readonly startSoc?: string;
  readonly durations?: string;
  readonly branches?: string;
  readonly voltageLimits?: string;
  readonly longestPulse?: string;
  readonly fixture?: string;
  readonly json?: boolean;
}

/** `gemel evaluate pulse FILE`: everything a pulse record holds, without a database. */
export function registerEvaluatePulse(evaluate: Command): void {
  const command = withWritingOptions(
    evaluate
      .command('pulse')
      .description(summaries['evaluate pulse'])
      .argument('<file>', 'table with time, voltage and current (comma, semicolon or tab; also gzipped)'),
  );
  withTogetherOptions(command, (text) => one('--run-gap', text, (value) => value >= 0, '0 or above') ?? 0)
    .option('--columns <list>', 'which column is what: time=…,voltage=…,current=…,temperature=…,step=…')
    .option('--units <list>', 'units the file does not tell: time=min,voltage=mV,current=mA')
    .option('--current-sign <sign>', 'charge-positive (as stored here) or discharge-positive')
    .option('--run <list>', 'the one run to read of a file with several: COLUMN=VALUE,…')
    .option('--charge-column <name>', "column of the instrument's signed charge counter in Ah, or none")
    .option('--rated-capacity <Ah>', 'rated capacity, for rates, and for SOC without --cell-capacity')
    .option('--cell-capacity <Ah>', "the cell's own measured capacity, in which SOC is counted")
    .option(
      '--start-soc <fraction>',
      'state of charge at the first row, 0 to 1; else from a column of the file, or derived where the record begins full or reaches full or empty',
    )
    .option('--durations <list>', 'durations of the resistances in s, e.g. 0.1,1,10,30')
    .option('--branches <max>', 'largest number of RC branches, 0 to 3')
    .option('--voltage-limits <min,max>', 'limits of the test in V, e.g. 2.5,4.2')
    .option('--longest-pulse <s>', 'longest step that counts as a pulse')
    .option('--fixture <Ohm[,u]>', 'contact resistance of the fixture in Ohm and its standard uncertainty')
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: PulseOptions) => {
      const settings = settingsOf(options);
      const { file: read, joined } = options.together
        ? joinRunsOfCell(await readRecordRuns(file, readOptions(options)), options)
        : { file: await readRecordFile(file, readOptions(options)), joined: null };
      for (const warning of read.warnings) process.stderr.write(`${warning}\n`);
      const startSoc = settings.startSoc ?? startSocInFile(read);
      const evaluated = evaluateRecord(recordWithCounter(read, options.chargeColumn), {
        ...settings,
        startSoc,
      });
      const result = { ...evaluated, record: { ...evaluated.record, joined } };
      if (joined !== null) process.stderr.write(`${joinedLine(joined)}\n`);
      if (options.json) printJson(result);
      else process.stdout.write(describePulseRecord(result));
    });
}

/** The state of charge at the first row, from a column of the file that states it. */
function startSocInFile({ extra }: RecordFile): number | null {
  const name = Object.keys(extra).find(namesSoc);
  return name === undefined ? null : socOfColumn(name, extra[name][0]);
}

function evaluateRecord(record: RecordColumns, settings: Partial<PulseSettings>): EvaluatedPulseRecord {
  try {
    return evaluatePulseRecord(record, settings);
  } catch (error) {
    if (error instanceof RangeError) throw new Refusal('not-evaluable', error.message);
    throw error;
  }
}

function readOptions(options: PulseOptions): Parameters<typeof readRecordFile>[1] {
  const { currentSign } = options;
  if (
    currentSign !== undefined &&
    currentSign !== 'charge-positive' &&
    currentSign !== 'discharge-positive'
  ) {
    throw wrong('--current-sign', currentSign, 'not a sign', 'charge-positive or discharge-positive');
  }
  const choice = (flag: string, text: string | undefined): Record<string, string | null> | undefined => {
    if (text === undefined) return undefined;
    try {
      return parseChoice(text);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      throw wrong(flag, text, error.message, 'ROLE=NAME, separated by commas');
    }
  };
  const units = choice('--units', options.units);
  return {
    ...readWritingFlags(options),
    columns: choice('--columns', options.columns),
    ...(units === undefined ? {} : { units: withoutNulls(units) }),
    currentSign,
    select: options.run === undefined ? undefined : pairsOf(options.run),
  };
}

function withoutNulls(choice: Record<string, string | null>): Record<string, string> {
  const kept: Record<string, string> = {};
  for (const [role, unit] of Object.entries(choice)) {
    if (unit === null) throw wrong('--units', `${role}=none`, 'a unit is needed', 'for example current=mA');
    kept[role] = unit;
  }
  return kept;
}

function pairsOf(text: string): Record<string, string> {
  return Object.fromEntries(
    text.split(',').map((part) => {
      const at = part.indexOf('=');
      if (at < 1) throw wrong('--run', text, `"${part}" is not COLUMN=VALUE`, 'for example cycle=2');
      return [part.slice(0, at).trim(), part.slice(at + 1).trim()];
    }),
  );
}

function settingsOf(options: PulseOptions): Partial<PulseSettings> {
  const limits = list('--voltage-limits', options.voltageLimits, 2, 2);
  const fixture = list('--fixture', options.fixture, 1, 2);
  const durations = list('--durations', options.durations, 1, 50);
  const rated = one('--rated-capacity', options.ratedCapacity, (value) => value > 0, 'above 0');
  const own = one('--cell-capacity', options.cellCapacity, (value) => value > 0, 'above 0');
  const soc = one('--start-soc', options.startSoc, (value) => value >= 0 && value <= 1, 'from 0 to 1');
  const branches = one(
    '--branches',
    options.branches,
    (value) => [0, 1, 2, 3].includes(value),
    '0, 1, 2 or 3',
  );
  const longest = one('--longest-pulse', options.longestPulse, (value) => value > 0, 'above 0');
  for (const value of durations ?? []) {
    if (!(value > 0))
      throw wrong('--durations', value, 'a duration must be above 0', 'for example 0.1,1,10,30');
  }
  return {
    ratedCapacityAh: rated ?? null,
    cellCapacityAh: own ?? null,
    startSoc: soc ?? null,
    ...(durations === undefined ? {} : { durationsS: durations }),
    ...(branches === undefined ? {} : { maxBranches: branches }),
    ...(longest === undefined ? {} : { longestPulseS: longest }),
    minVoltageV: limits?.[0] ?? null,
    maxVoltageV: limits?.[1] ?? null,
    fixtureResistanceOhm: fixture?.[0] ?? null,
    fixtureStandardUncertaintyOhm: fixture?.[1] ?? null,
  };
}

function list(flag: string, text: string | undefined, least: number, most: number): number[] | undefined {
  if (text === undefined) return undefined;
  const values = text.split(',').map((part) => number(flag, part));
  if (values.length >= least && values.length <= most) return values;
  const count = least === most ? `${least}` : `${least} to ${most}`;
  throw wrong(flag, text, `${values.length} numbers`, `${count} numbers separated by commas`);
}

function one(
  flag: string,
  text: string | undefined,
  fits: (value: number) => boolean,
  expected: string,
): number | undefined {
  if (text === undefined) return undefined;
  const value = number(flag, text);
  if (!fits(value)) throw wrong(flag, text, 'out of range', `a number ${expected}`);
  return value;
}

function number(flag: string, text: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (!Number.isFinite(value)) throw wrong(flag, text, 'not a number', 'a number with a decimal point');
  return value;
}

function wrong(flag: string, value: unknown, reason: string, expected: string): Refusal {
  return new Refusal('invalid-request', `${flag} cannot be used.`, [
    fieldError(flag, value, reason, expected),
  ]);
}
