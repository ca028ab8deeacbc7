import { type Command, InvalidArgumentError, Option } from 'commander';
import { evaluateImpedance } from '../assess/impedance/evaluateImpedance.ts';
import type { EvaluatedSweep, ImpedanceResult } from '../contract/impedance.ts';
import { imaginarySign } from '../contract/readingOptions.ts';
import { reasonSentence } from '../contract/reasons.ts';
import { Refusal } from '../errors.ts';
import { readTableFile } from '../import/readTableFile.ts';
import type { SpectrumOptions } from '../import/spectrumColumns.ts';
import { readSpectra } from '../import/spectrumTable.ts';
import { plusMinus } from './plusMinus.ts';
import { printJson } from './program.ts';
import { choice, readWritingFlags, withWritingOptions } from './readingOptions.ts';
import { summaries } from './summaries.ts';

/** Options of `gemel evaluate impedance`, as commander hands them over. */
interface ImpedanceOptions {
  readonly columns?: Record<string, string | null>;
  readonly units?: Record<string, string | null>;
  readonly imaginarySign?: SpectrumOptions['imaginarySign'];
  readonly ratedCapacity?: number;
  readonly cellCapacity?: number;
  readonly startSoc?: number;
  readonly maxArcs?: number;
  readonly diffusionTail?: 'auto' | 'always' | 'never';
  readonly fitFrom?: number;
  readonly limit?: number;
  readonly json?: boolean;
}

/** `gemel evaluate impedance FILE`: every spectrum of a table, without a database. */
export function registerEvaluateImpedance(evaluate: Command): void {
  withWritingOptions(
    evaluate
      .command('impedance')
      .description(summaries['evaluate impedance'])
      .argument(
        '<file>',
        'table with frequency, real and imaginary part, or magnitude and phase (also gzipped)',
      ),
  )
    .option('--columns <list>', 'columns by name: frequency=NAME,real=NAME,imaginary=NAME …', choice)
    .option('--units <list>', 'units the file does not tell: frequency=kHz,real=mohm,phase=deg …', choice)
    .addOption(
      new Option('--imaginary-sign <sign>', 'of the imaginary part or phase; found otherwise').choices(
        imaginarySign.options,
      ),
    )
    .option('--rated-capacity <Ah>', 'rated capacity, for the state of charge', positive)
    .option('--cell-capacity <Ah>', "the cell's own measured capacity, in which SOC is counted", positive)
    .option('--start-soc <fraction>', 'state of charge of the first sweep, 0 to 1', number)
    .option('--max-arcs <count>', 'largest number of arcs, 0 to 2', number)
    .addOption(
      new Option('--diffusion-tail <choice>', 'whether a diffusion tail is tried').choices([
        'auto',
        'always',
        'never',
      ]),
    )
    .option('--fit-from <Hz>', 'leave lower frequencies out of the circuit', positive)
    .option(
      '--limit <fraction>',
      'largest Kramers–Kronig residual, a fraction of |Z|; default 0.01',
      positive,
    )
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: ImpedanceOptions) => {
      const table = await readTableFile(file, readWritingFlags(options));
      const { columns, imaginarySign: sign } = options;
      const spectra = readSpectra(table, { columns, units: unitsOf(options.units), imaginarySign: sign });
      for (const warning of spectra.warnings) process.stderr.write(`warning: ${warning}\n`);
      const result = evaluated(spectra.sweeps, options);
      if (options.json) printJson(result);
      else process.stdout.write(`${result.sweeps.map(tellSweep).join('\n')}\n`);
    });
}

function evaluated(
  sweeps: Parameters<typeof evaluateImpedance>[0],
  options: ImpedanceOptions,
): ImpedanceResult {
  const { maxArcs } = options;
  if (maxArcs !== undefined && ![0, 1, 2].includes(maxArcs))
    throw new RangeError(`--max-arcs is ${maxArcs}; it is 0, 1 or 2`);
  try {
    return evaluateImpedance(sweeps, {
      ratedCapacityAh: options.ratedCapacity,
      cellCapacityAh: options.cellCapacity,
      startSoc: options.startSoc,
      maxArcs,
      diffusionTail: options.diffusionTail,
      fitFromHz: options.fitFrom,
      consistencyLimit: options.limit,
    });
  } catch (error) {
    if (error instanceof RangeError) throw new Refusal('not-evaluable', error.message);
    throw error;
  }
}

function unitsOf(chosen: Record<string, string | null> | undefined): Record<string, string> {
  const units: Record<string, string> = {};
  for (const [role, unit] of Object.entries(chosen ?? {})) {
    if (unit === null) throw new RangeError(`--units ${role}=none: a unit is needed, for example real=mohm`);
    units[role] = unit;
  }
  return units;
}

function number(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new InvalidArgumentError('It must be a number.');
  return value;
}

function positive(text: string): number {
  const value = number(text);
  if (!(value > 0)) throw new InvalidArgumentError('It must be a number above 0.');
  return value;
}

function tellSweep(sweep: EvaluatedSweep): string {
  const { at1kHz, intercept, circuit, consistency } = sweep;
  const milli = (ohm: number, uncertainty: number | null): string =>
    plusMinus(ohm, uncertainty, 'mohm', 1000);
  const name = [sweep.cell, `sweep ${sweep.label}`].filter((part) => part !== null).join(', ');
  const condition = [
    sweep.soc !== null
      ? `SOC ${(100 * sweep.soc).toFixed(1)} %`
      : sweep.chargeAh !== null
        ? `SOC: ${sweep.socReason}`
        : null,
    sweep.temperatureC === null ? null : `${sweep.temperatureC} °C`,
  ].filter((part) => part !== null);
  const value =
    at1kHz.magnitudeOhm === null || at1kHz.realOhm === null
      ? `|Z| at 1 kHz: ${at1kHz.reason}`
      : `|Z| at 1 kHz ${milli(at1kHz.magnitudeOhm, at1kHz.standardUncertaintyOhm)}, real part ${(1000 * at1kHz.realOhm).toFixed(3)} mohm`;
  const crossing =
    intercept.resistanceOhm === null || intercept.frequencyHz === null
      ? `intercept: ${intercept.reason}`
      : `intercept ${milli(intercept.resistanceOhm, intercept.standardUncertaintyOhm)} at ${intercept.frequencyHz.toFixed(0)} Hz`;
  const fitted =
    circuit === null
      ? `  circuit: ${sweep.circuitReason}`
      : `  circuit: ${circuit.parameters
          .map(
            ({ name: parameter, value: found, standardError, reason }) =>
              `${parameter} ${found.toPrecision(4)} ${standardError === null ? `(${reason})` : `± ${standardError.toPrecision(2)}`}`,
          )
          .join(', ')}${whyOpen(circuit.parameters)}`;
  return `${name}${condition.length > 0 ? ` (${condition.join(', ')})` : ''}: ${value}; ${crossing}\n${fitted}\n  ${consistency.sentence}`;
}

/** A line for each reason for which parameters of the circuit have no standard error. */
function whyOpen(parameters: readonly { readonly reason: string | null }[]): string {
  const reasons = new Set(parameters.flatMap(({ reason }) => (reason === null ? [] : [reason])));
  return [...reasons].map((reason) => `\n  ${reason}: ${reasonSentence(reason)}`).join('');
}
