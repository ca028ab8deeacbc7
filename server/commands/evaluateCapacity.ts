import { type Command, InvalidArgumentError, Option } from 'commander';
import { CAPACITY_VERSION, evaluateCapacityRecord } from '../assess/capacity/evaluateCapacityRecord.ts';
import { type CapacityResult, capacityDefinition } from '../contract/capacity.ts';
import { type RecordFile, readRecordRuns } from '../import/readRecordFile.ts';
import { printJson } from './program.ts';
import { choice, type ReadingFlags, readReadingFlags, withWritingOptions } from './readingOptions.ts';
import { recordWithCounter } from './recordWithCounter.ts';
import { joinedLine, joinRunsOfCells, type TogetherFlags, withTogetherOptions } from './runsTogether.ts';
import { summaries } from './summaries.ts';
import { capacityWarning, tellCapacity } from './tellCapacity.ts';

/** Options of `gemel evaluate capacity`, as commander hands them over. */
interface CapacityOptions extends ReadingFlags, TogetherFlags {
  readonly cutoff?: number;
  readonly definition: CapacityResult['definition'];
  readonly ratedCapacity?: number;
  readonly chargeColumn?: string;
  readonly json?: boolean;
}

/** `gemel evaluate capacity FILE`: capacity of each discharge and charge of a record, without a database. */
export function registerEvaluateCapacity(evaluate: Command): void {
  const command = withWritingOptions(
    evaluate
      .command('capacity')
      .description(summaries['evaluate capacity'])
      .argument('<file>', 'record with time, voltage and current'),
  );
  withTogetherOptions(command, notNegative)
    .option('--cutoff <V>', 'cut-off voltage of discharges; without it the whole record counts', positive)
    .addOption(
      new Option('--definition <name>', 'where a discharge ends')
        .choices(capacityDefinition.options)
        .default('interpolated-crossing'),
    )
    .option('--rated-capacity <Ah>', 'rated capacity in Ah', positive)
    .option('--columns <list>', 'columns by name: time=NAME,voltage=NAME,current=NAME …', choice)
    .option('--units <list>', 'units the file does not tell: time=min,voltage=mV,current=mA', choice)
    .addOption(
      new Option(
        '--current-sign <sign>',
        'how the file signs current; without it a column that states charge or discharge decides, else charge is positive',
      ).choices(['charge-positive', 'discharge-positive']),
    )
    .option('--charge-column <name>', "column of the instrument's signed charge counter in Ah, or none")
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: CapacityOptions) => {
      const result = await evaluateCapacityFile(file, options);
      for (const warning of result.warnings)
        process.stderr.write(`warning: ${capacityWarning(warning, result)}\n`);
      if (options.json) printJson(result);
      else process.stdout.write(`${tellCapacity(result)}\n`);
    });
}

/** Reads a record file, with one or more runs distinguished by its own columns, and evaluates all of them. */
export async function evaluateCapacityFile(file: string, options: CapacityOptions): Promise<CapacityResult> {
  const files = await readRecordRuns(file, readReadingFlags(options));
  for (const warning of files[0].warnings) process.stderr.write(`${warning}\n`);
  const records = options.together
    ? joinRunsOfCells(files, options)
    : files.map((file) => ({ file, joined: null }));
  const results = records.map(({ file: run, joined }) => ({
    ...evaluateCapacityRecord(recordWithCounter(run, options.chargeColumn), {
      cutoffVoltageV: options.cutoff ?? null,
      definition: options.definition,
      ratedCapacityAh: options.ratedCapacity ?? null,
    }),
    joined,
  }));
  for (const { joined } of results) if (joined !== null) process.stderr.write(`${joinedLine(joined)}\n`);
  return joinResults(
    results,
    records.map(({ file: run }) => run),
  );
}

/** One result for a file of several runs: indices count on, rows and labels are those of the file. */
function joinResults(results: readonly CapacityResult[], files: readonly RecordFile[]): CapacityResult {
  const joined: CapacityResult = {
    ...results[0],
    algorithm: { name: 'capacity', version: CAPACITY_VERSION },
    rows: files.reduce((sum, run) => sum + run.rowCount, 0),
    runs: [],
    cycles: [],
    openCircuit: results.find((result) => result.openCircuit !== null)?.openCircuit ?? null,
    warnings: [],
  };
  results.forEach((result, k) => {
    const label = files[k].key.map(({ value }) => value).join('/') || null;
    const offset = joined.runs.length;
    // Rows of the file, counted from 0: its runs stand one after another.
    const firstRow = files.slice(0, k).reduce((sum, run) => sum + run.rowCount, 0);
    const shifted = (index: number | null): number | null => (index === null ? null : index + offset);
    joined.runs.push(
      ...result.runs.map((run) => ({
        ...run,
        index: run.index + offset,
        label: run.label ?? label,
        startRow: run.startRow + firstRow,
        endRow: run.endRow + firstRow,
      })),
    );
    joined.cycles.push(
      ...result.cycles.map((cycle) => ({
        ...cycle,
        chargeRun: shifted(cycle.chargeRun),
        dischargeRun: shifted(cycle.dischargeRun),
      })),
    );
    joined.warnings.push(
      ...result.warnings.map((warning) => ({
        ...warning,
        runs: warning.runs.map((index) => index + offset),
        rows: warning.rows.map((row) => row + firstRow),
      })),
    );
  });
  return joined;
}

function notNegative(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value >= 0 && value < Infinity))
    throw new InvalidArgumentError('It must be a number, 0 or above.');
  return value;
}

function positive(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value > 0 && value < Infinity))
    throw new InvalidArgumentError('It must be a number above 0.');
  return value;
}
