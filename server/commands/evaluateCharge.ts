import { writeFile } from 'node:fs/promises';
import { type Command, InvalidArgumentError, Option } from 'commander';
import type { LogToEvaluate } from '../assess/charge-log/evaluateChargeLogs.ts';
import { evaluateChargeLogs } from '../assess/charge-log/evaluateChargeLogs.ts';
import { cautionSentences } from '../contract/cautions.ts';
import {
  type ChargeLogQuantity,
  type ChargeLogResult,
  chargeLogQuantity,
  type OneLogResult,
  type SupplyEstimateResult,
} from '../contract/chargeLogResult.ts';
import { chargeLogParameters, fitVerdicts } from '../contract/chargeLogWords.ts';
import { reasonSentence } from '../contract/reasons.ts';
import { fieldError, Refusal } from '../errors.ts';
import { readChargeLog } from '../import/chargeLogTable.ts';
import { readTableFile } from '../import/readTableFile.ts';
import { inOrder } from '../inOrder.ts';
import { readStudy } from './charge.ts';
import { printJson } from './program.ts';
import { choice, notNegative } from './readingOptions.ts';
import { summaries } from './summaries.ts';

type Estimate = NonNullable<ChargeLogResult['fit']>['estimates'][number];

interface ChargeOptions {
  readonly study: string;
  readonly fit?: ChargeLogQuantity[];
  readonly columns?: Record<string, string | null>;
  readonly currentSign?: 'charge-positive' | 'discharge-positive';
  readonly voltageOffset?: number;
  readonly currentOffset?: number;
  readonly currentGain?: number;
  readonly ocvUncertainty?: number;
  readonly startsEmpty?: boolean;
  readonly from?: number;
  readonly ambientTemperature?: number;
  readonly studyOut?: string;
  readonly json?: boolean;
}

/** `gemel evaluate charge FILES… --study STUDY`: measured charges of a stack beside the computed ones, without a database. */
export function registerEvaluateCharge(evaluate: Command): void {
  evaluate
    .command('charge')
    .description(summaries['evaluate charge'])
    .argument(
      '<files...>',
      'logs of one stack: time, stack current, voltage of every cell, and what else was logged; several are fitted together',
    )
    .requiredOption('--study <file>', 'study description (JSON) of the cells that were charged')
    .option('--fit <list>', `fit of each cell: ${chargeLogQuantity.options.join(', ')}`, quantities)
    .option('--columns <list>', 'columns by name: time=NAME,stack-current=NAME,cell-voltage-1=NAME …', choice)
    .addOption(
      new Option('--current-sign <sign>', 'how the file signs current').choices([
        'charge-positive',
        'discharge-positive',
      ]),
    )
    .option(
      '--voltage-offset <V>',
      'standard uncertainty of a voltage channel’s offset; default 0.001',
      notNegative,
    )
    .option(
      '--current-offset <A>',
      'of the current channel’s; default 0.2 % of the largest current',
      notNegative,
    )
    .option('--current-gain <share>', 'of the current channel’s gain; default 0.001 (0.1 %)', notNegative)
    .option(
      '--ocv-uncertainty <V>',
      'of the open-circuit curve from SOC to SOC; default: what the study states, else 0',
      notNegative,
    )
    .option(
      '--starts-empty',
      'the stack was discharged to its cut-off just before each log: a full charge then counts its capacity',
    )
    .option('--from <s>', 'leave earlier rows out of residuals and fit', notNegative)
    .option(
      '--ambient-temperature <C>',
      'of the surroundings, where the log has no column of it; default 25 °C',
      temperature,
    )
    .option('--study-out <file>', 'with --fit: write the study with the fitted values (JSON)')
    .option('--json', 'machine-readable output')
    .action(async (files: string[], options: ChargeOptions) => {
      const study = await readStudy(options.study);
      const reads = await inOrder(files, async (file) => readLog(file, options));
      const result = evaluateChargeLogs(reads, study, {
        fit: options.fit ?? [],
        voltageOffsetV: options.voltageOffset,
        currentOffsetA: options.currentOffset,
        currentGain: options.currentGain,
        ocvUncertaintyV: options.ocvUncertainty,
        startsEmpty: options.startsEmpty,
        fromS: options.from,
      });
      const logs = [result, ...result.furtherLogs];
      logs.forEach(({ warnings }, l) => {
        const of = logs.length === 1 ? '' : `${files[l]}: `;
        for (const warning of warnings) process.stderr.write(`warning: ${of}${warning}\n`);
      });
      if (options.studyOut !== undefined) await writeStudy(options.studyOut, result);
      if (options.json) printJson(result);
      else process.stdout.write(summary(result, files));
    });
}

/** Writes the study with the fitted values. @throws Refusal where nothing was fitted */
async function writeStudy(file: string, { fit }: ChargeLogResult): Promise<void> {
  if (fit === null)
    throw new Refusal('invalid-request', 'There is no fitted study to write.', [
      fieldError('--study-out', file, 'nothing is fitted', '--fit with what is fitted'),
    ]);
  await writeFile(file, `${JSON.stringify(fit.study, null, 2)}\n`);
}

/** Reads one log. @throws RefusedFile naming the file where there are several */
async function readLog(
  file: string,
  { columns: chosen, currentSign, ambientTemperature }: ChargeOptions,
): Promise<LogToEvaluate> {
  const read = readChargeLog(await readTableFile(file), {
    columns: chosen,
    currentSign,
    ambientTemperatureC: ambientTemperature,
  });
  const columns = read.columns.map(({ role, source, unit, unitFrom }) => ({
    role,
    source,
    unit: unit.symbol,
    unitFrom,
  }));
  return { ...read, columns };
}

function quantities(text: string): ChargeLogQuantity[] {
  return text.split(',').map((part) => {
    const parsed = chargeLogQuantity.safeParse(part.trim());
    if (!parsed.success)
      throw new InvalidArgumentError(`"${part}" is not one of ${chargeLogQuantity.options.join(', ')}.`);
    return parsed.data;
  });
}

function temperature(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value >= -60 && value <= 150))
    throw new InvalidArgumentError('It must be a temperature in °C, from -60 to 150.');
  return value;
}

function summary(result: ChargeLogResult, files: readonly string[]): string {
  const logs = [result, ...result.furtherLogs];
  const lines = [
    ...logs.flatMap((log, l) => [...(logs.length === 1 ? [] : [`${files[l]}:`]), ...logLines(log)]),
    ...fitLines(result.fit, logs.length),
    'Cautions',
    ...result.cautions.map((code) => `  ${cautionSentences[code]}`),
  ];
  return `${lines.join('\n')}\n`;
}

function countedLine({ countedCapacity: counted }: OneLogResult): string[] {
  if (counted === undefined) return [];
  const { of, valueAh, low, high, reason } = counted;
  if (valueAh === null || low === null || high === null)
    return [`Capacity by the counted charge: not given: ${sentenceOf(reason)}`];
  return [
    `Capacity of the ${of} by the counted charge, from emptied to full: ${valueAh.toPrecision(4)} Ah (${low.toPrecision(4)} to ${high.toPrecision(4)}, 95 %).`,
  ];
}

function logLines(log: OneLogResult): string[] {
  const { comparison, supply, conditions } = log;
  const milli = (value: number): string => (1000 * value).toFixed(1);
  return [
    ...comparison.verdict,
    `Measured at ${conditions.currentA.toFixed(3)} A for ${(conditions.durationS / 60).toFixed(1)} min, ${conditions.rows} rows.`,
    ...countedLine(log),
    'Residuals, measured minus computed',
    ...comparison.cells.map(
      (cell) =>
        `  ${cell.cell}: bias ${milli(cell.biasV)} mV, rms ${milli(cell.rmsV)} mV, largest ${milli(cell.largestV)} mV at ${cell.largestTimeS.toFixed(0)} s`,
    ),
    'Supply',
    `  cable ${ohms(supply.cableOhm)}`,
    `  connections of the stack ${ohms(supply.stackOhm)}`,
    `  converter output resistance ${ohms(supply.converterOhm)}`,
  ];
}

function fitLines(fit: ChargeLogResult['fit'], logs: number): string[] {
  if (fit === null) return [];
  const shown = fit.estimates.filter(
    ({ quantity }) => quantity !== 'edgeFraction' && quantity !== 'ocvKnotV',
  );
  return [
    `Fit: ${fitVerdicts[fit.verdict]} (residual variance ${fit.misfit.toFixed(2)} × that of noise, resolution and curve)${
      fit.converged ? '' : '; it did not converge, so its intervals cannot be relied on'
    }`,
    ...shown.map(({ quantity, cell, log, value, low, high, reason }) => {
      const { unit, by } = chargeLogParameters[quantity];
      const text = (one: number): string => (by * one).toPrecision(5);
      const interval =
        low === null || high === null
          ? `no interval: ${sentenceOf(reason)}`
          : `${text(low)} to ${text(high)}, 95 %${reason === null ? '' : `; conditional: ${sentenceOf(reason)}`}`;
      return `  ${nameOf({ quantity, cell, log }, logs)}: ${text(value)} ${unit} (${interval})`;
    }),
    ...(fit.resistances ?? []).map(({ cell, durationS, ratio, low, high, reason }) => {
      const text = (one: number): string => (100 * one).toPrecision(5);
      const value = ratio === null ? 'not given' : `${text(ratio)} % of the study’s value`;
      const interval =
        low === null || high === null
          ? `no interval: ${sentenceOf(reason)}`
          : `${text(low)} to ${text(high)}, 95 %`;
      return `  R0 and branches of ${cell} together at ${durationS} s: ${value} (${interval})`;
    }),
    ...new Set(
      fit.inseparable.map(
        ({ a, b, correlation }) =>
          `  hard to separate: ${nameOf(a, logs)} and ${nameOf(b, logs)} (correlation ${correlation.toFixed(2)})`,
      ),
    ),
    ...fit.after.map(
      (cell) =>
        `  residuals of ${cell.cell}${logs === 1 ? '' : ` in log ${cell.log + 1}`} after the fit: rms ${(1000 * cell.rmsV).toFixed(2)} mV`,
    ),
  ];
}

/** A parameter in words, with its cell and, of several logs, its log. */
function nameOf({ quantity, cell, log }: Pick<Estimate, 'quantity' | 'cell' | 'log'>, logs: number): string {
  const of = cell === null ? '' : ` of ${cell}`;
  return `${chargeLogParameters[quantity].name}${of}${log === null || logs === 1 ? '' : ` in log ${log + 1}`}`;
}

function sentenceOf(reason: string | null): string {
  return reason === null ? 'the log does not determine it' : reasonSentence(reason);
}

function ohms({ value, low, high, reason }: SupplyEstimateResult): string {
  if (value === null || low === null || high === null)
    return `not determined: ${reasonSentence(reason ?? 'not-logged')}`;
  return `${(1000 * value).toFixed(2)} mohm (${(1000 * low).toFixed(2)} to ${(1000 * high).toFixed(2)})`;
}
