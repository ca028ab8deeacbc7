import { type GaugeStudy, gaugeSentences } from '../contract/gauge.ts';
import { reasonSentences } from '../contract/reasons.ts';
import { plusMinus } from './plusMinus.ts';

const verdicts: Readonly<Record<GaugeStudy['verdict'], string>> = {
  good: 'the gauge is good.',
  limited: 'the gauge is good enough with limits.',
  'not-enough': 'the gauge is not good enough.',
  unknown: 'the gauge is not judged.',
};

/** A gauge study as text. */
export function tellGauge(study: GaugeStudy): string {
  const { cells, trials, operators, reason, unit, repeatability, crossed, ratio, basis, verdict } = study;
  if (reason !== null) return `No gauge study: ${reasonSentences[reason]}`;
  const deviation = (value: number | null): string => plusMinus(value ?? Number.NaN, null, unit ?? '');
  const by = operators === null ? '' : ` by each of ${operators.length} operators (${operators.join(', ')})`;
  const range = study.repeatabilityInterval;
  const ends = range === null ? '' : ` (95 %: ${range.low.toPrecision(3)} to ${range.high.toPrecision(3)})`;
  const ratioEnds = study.ratioInterval;
  return [
    `${cells.length} cells, ${trials} readings each${by}: ${verdicts[verdict]}`,
    `repeatability ${deviation(repeatability)}${ends}, between cells ${deviation(study.betweenCells)} (1 sd)`,
    ...(crossed === null
      ? []
      : [
          `reproducibility ${deviation(crossed.reproducibility)}, gauge ${deviation(crossed.gauge)}; by ranges ${deviation(crossed.reproducibilityByRange)} and ${deviation(crossed.gaugeByRange)}`,
        ]),
    ...(ratio === null
      ? []
      : [
          `gauge over spread of the ${basis}: ${(100 * ratio).toFixed(0)} %${ratioEnds === null ? '' : ` (95 %: ${(100 * ratioEnds.low).toFixed(0)} to ${(100 * ratioEnds.high).toFixed(0)} %)`}, ${study.distinctCategories ?? 'any number of'} distinguishable groups`,
        ]),
    ...gaugeSentences(study),
  ].join('\n');
}
