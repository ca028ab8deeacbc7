import { type Command, InvalidArgumentError } from 'commander';
import { measuredConverter } from '../../fitting/charging/index.ts';
import { cautionSentences, generalCautions } from '../contract/cautions.ts';
import { meterErrors } from '../contract/chargeSupply.ts';
import { metersSentences } from '../contract/meterWords.ts';
import { fieldError, Refusal } from '../errors.ts';
import type { ReadOperatingPoints } from '../import/operatingPoints.ts';
import { readOperatingPoints } from '../import/operatingPoints.ts';
import { readTableFile } from '../import/readTableFile.ts';
import { printJson } from './program.ts';
import { choice, notNegative } from './readingOptions.ts';
import { summaries } from './summaries.ts';

interface ConverterOptions {
  readonly ratio: number;
  readonly columns?: Record<string, string | null>;
  readonly readingError?: number;
  readonly voltageOffset?: number;
  readonly currentOffset?: number;
  readonly json?: boolean;
}

/** `gemel evaluate converter FILE --ratio N`: a converter's parameters from a table of its operating points, without a database. */
export function registerEvaluateConverter(evaluate: Command): void {
  evaluate
    .command('converter')
    .description(summaries['evaluate converter'])
    .argument('<file>', 'table with output voltage and current, input voltage and current, temperature')
    .requiredOption('--ratio <N>', 'input voltage over output voltage at no load: 1, 2 or 4', ratio)
    .option(
      '--columns <list>',
      'columns by name: stack-voltage=NAME (output), stack-current=NAME, bus-voltage=NAME (input), bus-current=NAME',
      choice,
    )
    .option(
      '--reading-error <share>',
      'standard uncertainty of a meter’s reading as a share of it, e.g. 0.001; default 0.0005',
      readingShare,
    )
    .option(
      '--voltage-offset <V>',
      'standard uncertainty of a voltage meter’s constant error; default 0',
      notNegative,
    )
    .option('--current-offset <A>', 'of a current meter’s; default 0', notNegative)
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: ConverterOptions) => {
      const read = readOperatingPoints(await readTableFile(file), options.columns);
      const measured = evaluated(options, read);
      for (const name of read.unused) process.stderr.write(`warning: column "${name}" is not used\n`);
      if (options.json)
        printJson({
          schemaVersion: 1,
          ratio: options.ratio,
          ...read,
          ...measured,
          cautions: [...generalCautions],
        });
      else process.stdout.write(summary(measured));
    });
}

function evaluated(
  { ratio: n, readingError, voltageOffset, currentOffset }: ConverterOptions,
  { points }: ReadOperatingPoints,
): ReturnType<typeof measuredConverter> {
  try {
    return measuredConverter(n, points, {
      readingShare: readingError,
      voltageOffsetV: voltageOffset,
      currentOffsetA: currentOffset,
    });
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new Refusal('not-evaluable', `The operating points cannot be used: ${error.message}.`, [
      fieldError('points', undefined, error.message, 'points of one converter'),
    ]);
  }
}

function summary({
  outputResistanceOhm: r,
  fixedLossCurrentA: i,
  curve,
  meters,
  assumed,
}: ReturnType<typeof measuredConverter>): string {
  const milli = (value: number): string => (1000 * value).toFixed(2);
  const lines = [
    `output resistance ${milli(r.value)} mohm (${milli(r.low)} to ${milli(r.high)}, 95 %)`,
    `fixed loss ${milli(i.value)} mA at the input (${milli(i.low)} to ${milli(i.high)}, 95 %)`,
    metersLine(meters, assumed.length > 0),
    'output A   loss W (95 %)              efficiency % (95 %)',
    ...curve.map(({ outputCurrentA, lossW, efficiency }) =>
      [
        outputCurrentA.toFixed(2).padStart(8),
        `${lossW.value.toFixed(3)} (${lossW.low.toFixed(3)} to ${lossW.high.toFixed(3)})`.padEnd(26),
        `${percent(efficiency.value)} (${percent(efficiency.low)} to ${percent(efficiency.high)})`,
      ].join('   '),
    ),
    'Cautions',
    ...generalCautions.map((code) => `  ${cautionSentences[code]}`),
  ];
  return `${lines.join('\n')}\n`;
}

function metersLine(meters: ReturnType<typeof measuredConverter>['meters'], isAssumed: boolean): string {
  const values: Record<string, number> = {
    percent: 100 * meters.readingShare,
    mv: 1000 * meters.voltageOffsetV,
    ma: 1000 * meters.currentOffsetA,
  };
  return metersSentences[isAssumed ? 'assumed' : 'stated'].replace(/{{(\w+)}}/g, (_, name) =>
    String(Number(values[name].toPrecision(3))),
  );
}

const percent = (share: number): string => (100 * share).toFixed(2);

function readingShare(text: string): number {
  const share = meterErrors.shape.readingShare.safeParse(Number(text));
  if (text.trim() === '' || !share.success || share.data === undefined)
    throw new InvalidArgumentError('It must be a number from 0 to 0.1.');
  return share.data;
}

function ratio(text: string): number {
  if (!['1', '2', '4'].includes(text.trim())) throw new InvalidArgumentError('It must be 1, 2 or 4.');
  return Number(text);
}
