import { type Command, InvalidArgumentError, Option } from 'commander';
import { CAPACITY_VERSION, evaluateCapacityRecord } from '../assess/capacity/evaluateCapacityRecord.ts';
import { type CapacityResult, capacityDefinition } from '../contract/capacity.ts';
import { parseChoice } from '../import/columnChoice.ts';
import { type RecordFile, readRecordRuns } from '../import/readRecordFile.ts';
import { printJson } from './program.ts';

/** Options of `gemel evaluate capacity`, as commander hands them over. */
interface CapacityOptions {
  readonly cutoff?: number;
  readonly definition: CapacityResult['definition'];
  readonly ratedCapacity?: number;
  readonly columns?: Record<string, string | null>;
  readonly json?: boolean;
}

/** `gemel evaluate capacity FILE`: capacity of each discharge and charge of a record, without a database. */
export function registerEvaluateCapacity(evaluate: Command): void {
  evaluate
    .command('capacity')
    .description('capacity, energy and efficiencies of the discharges and charges of a record')
    .argument('<file>', 'record with time, voltage and current')
    .option('--cutoff <V>', 'cut-off voltage of discharges; without it the whole record counts', positive)
    .addOption(
      new Option('--definition <name>', 'where a discharge ends')
        .choices(capacityDefinition.options)
        .default('interpolated-crossing'),
    )
    .option('--rated-capacity <Ah>', 'rated capacity in Ah', positive)
    .option('--columns <list>', 'columns by name: time=NAME,voltage=NAME,current=NAME …', parseChoice)
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: CapacityOptions) => {
      const result = await evaluateCapacityFile(file, options);
      if (options.json) printJson(result);
      else process.stdout.write(`${tellCapacity(result)}\n`);
      for (const { code, runs } of result.warnings)
        process.stderr.write(`warning: ${code}${runs.length > 0 ? `: runs ${runs.join(', ')}` : ''}\n`);
    });
}

/** Reads a record file, with one or more runs told apart by its own columns, and evaluates all of them. */
export async function evaluateCapacityFile(file: string, options: CapacityOptions): Promise<CapacityResult> {
  const files = await readRecordRuns(file, { columns: options.columns });
  const results = files.map((run) =>
    evaluateCapacityRecord(run.columns, {
      cutoffVoltageV: options.cutoff ?? null,
      definition: options.definition,
      ratedCapacityAh: options.ratedCapacity ?? null,
    }),
  );
  return joinResults(results, files);
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

function positive(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value > 0 && value < Infinity))
    throw new InvalidArgumentError('It must be a number above 0.');
  return value;
}

function tellCapacity(result: CapacityResult): string {
  const lines = result.runs.map((run) => {
    const name = `${run.index}${run.label === null ? '' : ` (${run.label})`} ${run.direction}`;
    const amount =
      run.capacityAh === null
        ? `${run.reason}, ${run.chargeToEndAh.toFixed(4)} Ah to the end of the record`
        : `${run.capacityAh.toFixed(4)} Ah, ${(run.energyWh ?? run.energyToEndWh).toFixed(3)} Wh`;
    const phases = run.phases;
    const shares =
      phases === null
        ? ''
        : `, ${(100 * phases.constantVoltageShare).toFixed(1)} % of it at constant voltage`;
    const times = run.chargeTimes.flatMap(({ soc, timeS }) =>
      timeS === null ? [] : [`${100 * soc} % of it after ${(timeS / 60).toFixed(1)} min`],
    );
    return `${name}: ${amount}${shares}${times.length > 0 ? `; ${times.join(', ')}` : ''}${run.plausible ? '' : ` (marked: ${run.implausibleReason})`}`;
  });
  for (const cycle of result.cycles) {
    if (cycle.coulombicEfficiency === null || cycle.energyEfficiency === null) continue;
    lines.push(
      `cycle of runs ${cycle.chargeRun} and ${cycle.dischargeRun}: coulombic ${(100 * cycle.coulombicEfficiency).toFixed(2)} %, energy ${(100 * cycle.energyEfficiency).toFixed(2)} %`,
    );
  }
  const { openCircuit } = result;
  if (openCircuit !== null) {
    lines.push(`open-circuit curve of ${openCircuit.soc.length} points from ${openCircuit.source}`);
  }
  return lines.join('\n');
}
