import type { Command } from 'commander';
import { cautionSentences } from '../contract/cautions.ts';
import { type ChargeStudyDescription, chargeStudyDescription } from '../contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../contract/chargeStudyResult.ts';
import { fieldError, Refusal } from '../errors.ts';
import { studyInThreads } from '../use-cases/charging/studyInThreads.ts';
import { wrongFields } from '../wrongFields.ts';
import { commandSharing } from './commandSharing.ts';
import { printJson } from './program.ts';
import { readJsonFile } from './readJsonFile.ts';
import { summaries } from './summaries.ts';

/** `gemel charge FILE`: a charge study from a JSON description; needs no database. */
export function registerCharge(program: Command): void {
  program
    .command('charge')
    .description(summaries.charge)
    .argument('<file>', 'study description; - for standard input')
    .option('--json', 'machine-readable output')
    .option(
      '--series <seconds>',
      'seconds between the rows of the series, where the description asks for none',
    )
    .action(async (file: string, options: { json?: boolean; series?: string }) => {
      const description = await readStudy(file);
      const result = await studyInThreads(withSeries(description, options.series), {
        ...commandSharing('draws'),
      });
      if (options.json) printJson(result);
      else process.stdout.write(summary(result));
    });
}

/**
 * Reads and checks a study description.
 * @throws Refusal naming the file, or every field that is wrong with its value.
 */
export async function readStudy(file: string): Promise<ChargeStudyDescription> {
  const value = await readJsonFile(file, 'study description');
  const parsed = chargeStudyDescription.safeParse(value);
  if (parsed.success) return parsed.data;
  const places = wrongFields(parsed.error, value, 'the document', chargeStudyDescription);
  throw new Refusal('invalid-request', `${file} cannot be used as a study description.`, places);
}

function withSeries(description: ChargeStudyDescription, series: string | undefined): ChargeStudyDescription {
  if (series === undefined || description.questions.seriesStepS !== undefined) return description;
  const seconds = Number(series);
  if (!(seconds > 0 && Number.isFinite(seconds)))
    throw new Refusal('invalid-request', 'The step of the series cannot be used.', [
      fieldError('--series', series, 'not a time', 'seconds above 0, for example 10'),
    ]);
  return { ...description, questions: { ...description.questions, seriesStepS: seconds } };
}

function summary(result: ChargeStudyResult): string {
  const lines = [
    `Charge ${result.name ?? ''}`.trimEnd(),
    ...result.asked.map(({ about, text }) => `  ${about}: ${text}`),
    `ends after ${minutes(result.endTimeS)} (${result.endReason})`,
    ...Object.entries(result.timesS).map(([soc, time]) => {
      const text = time === null ? (result.timesMissing[soc] ?? 'not-reached') : minutes(time);
      return `  ${(Number(soc) * 100).toFixed(0).padStart(3)} % of every cell: ${text}`;
    }),
    ...result.cells.map(
      (cell) =>
        `  ${cell.name}: ${(cell.endSoc * 100).toFixed(1)} %, ${cell.endVoltageV.toFixed(4)} V, peaks ` +
        `${cell.peakVoltageV.toFixed(4)} V and ${cell.peakTemperatureC.toFixed(1)} °C`,
    ),
    `Energy in ${result.energy.fromSourceWh.toFixed(3)} Wh, stored ${result.energy.storedWh.toFixed(3)} Wh`,
    ...result.operatingPoints.map(pointLine),
    'What limited the current',
    ...result.limits.map(
      ({ limit, cell, path, startTimeS, endTimeS }) =>
        `  ${minutes(startTimeS)} to ${minutes(endTimeS)}: ${limit}${ofWhich(result, cell, path)}`,
    ),
    ...questions(result),
    ...(result.warnings.length === 0 ? [] : ['Warnings', ...result.warnings.map((w) => `  ${w.message}`)]),
    'Cautions',
    ...result.cautions.map((code) => `  ${cautionSentences[code]}`),
  ];
  return `${lines.join('\n')}\n`;
}

function ofWhich(result: ChargeStudyResult, cell: number | null, path: number | null): string {
  if (cell !== null) return ` of ${result.cells[cell].name}`;
  return path === null ? '' : ` of path ${path + 1}`;
}

function pointLine(point: ChargeStudyResult['operatingPoints'][number]): string {
  const watts = (value: number) => `${value.toFixed(2)} W`;
  const efficiency =
    point.deliveredEfficiency === null
      ? ''
      : `, ${(100 * point.deliveredEfficiency).toFixed(1)} % to the cells`;
  return (
    `At ${minutes(point.timeS)} (${point.moment}): ${watts(point.sourceW)} in${efficiency}; lost in cable ${watts(point.cableLossW)}, ` +
    `converter ${watts(point.converterLossW)}, stack resistance ${watts(point.stackResistanceLossW)}, cells ${watts(point.cellLossW)}`
  );
}

function questions(result: ChargeStudyResult): string[] {
  const { rateSearch, stagedProfile, monteCarlo, stackOnly } = result;
  const lines: string[] = [];
  if (rateSearch !== null)
    lines.push(
      rateSearch.rateC === null
        ? `Do not charge: ${rateSearch.reason ?? rateSearch.binding}`
        : `Highest rate within all limits: ${rateSearch.rateC.toFixed(3)} C, held by ${rateSearch.binding}`,
    );
  if (stagedProfile !== null && stagedProfile.targetTimeS !== null)
    lines.push(
      `Staged profile: target after ${minutes(stagedProfile.targetTimeS)}; best single rate ` +
        `${stagedProfile.singleRateTargetTimeS === null ? 'never' : minutes(stagedProfile.singleRateTargetTimeS)}`,
    );
  if (monteCarlo !== null)
    lines.push(
      `Spread over ${monteCarlo.draws} draws (${monteCarlo.level * 100} %): end ${minutes(monteCarlo.endTimeS.low)} to ` +
        `${minutes(monteCarlo.endTimeS.high)}, highest cell voltage up to ${monteCarlo.worstCellVoltageV.high.toFixed(4)} V`,
    );
  if (stackOnly !== null)
    lines.push(
      `With only the stack watched the highest cell reaches ${Math.max(...stackOnly.cells.map((c) => c.peakVoltageV)).toFixed(4)} V`,
    );
  return lines;
}

function minutes(seconds: number): string {
  return `${(seconds / 60).toFixed(1)} min`;
}
