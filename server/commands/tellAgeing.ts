import type { AgeingCell, AgeingLimit, AgeingResult } from '../contract/ageingResult.ts';
import { limitWord } from '../contract/limitName.ts';
import { publishedLawSentence } from '../contract/publishedLaws.ts';
import { reasonSentences } from '../contract/reasons.ts';
import { residualSentence } from '../contract/residualChecks.ts';

/** An ageing evaluation as text for a terminal. */
export function tellAgeing(result: AgeingResult): string {
  const lines = result.cells.flatMap((cell) => tellCell(cell));
  for (const pair of result.pairs) {
    const [a, b] = pair.cells;
    const end =
      pair.differenceAtEnd === null ? '' : `, ${(100 * pair.differenceAtEnd).toFixed(2)} % apart at the end`;
    lines.push(
      pair.leavesAt === null
        ? `${a} + ${b}: within ${100 * pair.tolerance} % in ${pair.quantity}${end}`
        : `${a} + ${b}: beyond ${100 * pair.tolerance} % in ${pair.quantity} from ${pair.leavesAt} on${end}`,
    );
  }
  if (result.stress !== null) lines.push(...tellStress(result.stress));
  lines.push(
    'A forecast is an extrapolation. The maker’s datasheet and a qualified person decide when a cell is retired.',
  );
  return lines.join('\n');
}

function tellCell(cell: AgeingCell): string[] {
  const knee = cell.knee.at === null ? 'no knee' : `knee of this model at ${rounded(cell.knee)}`;
  const model = cell.chosen === null ? 'no model' : `${cell.chosen} model`;
  const flags = cell.flags.length > 0 ? `, ${cell.flags.join(', ')}` : '';
  const left = cell.series.leftOut.length > 0 ? `, ${cell.series.leftOut.length} points left out` : '';
  return [
    `${cell.cell}: ${model}, ${knee}${left}${flags}`,
    ...tellChosen(cell),
    ...cell.limits.filter(isFollowed).map((limit) => `  ${tellLimit(limit)}`),
    ...cell.published.map((law) => `  ${publishedLawSentence(law)}`),
  ];
}

/** The chosen model's parameters with their 95 % intervals, and what its residuals say. */
function tellChosen(cell: AgeingCell): string[] {
  const model = cell.models.find(({ name }) => name === cell.chosen);
  if (model === undefined) return [];
  const parameters = Object.entries(model.parameters).map(([name, value]) => {
    const { low = null, high = null } = model.intervals[name] ?? {};
    const digits = digitsBetween(low, high);
    const ends = [low, high].map((end) => (end === null ? 'open' : digits(end))).join(' to ');
    return `${name} ${value === null ? 'none' : digits(value)} (${ends}) ${model.units[name] ?? ''}`.trim();
  });
  const checks = model.residualChecks === null ? [] : [`  ${residualSentence(model.residualChecks)}`];
  return [`  ${parameters.join('; ')} (95 %)`, ...checks];
}

/** Writes numbers to two significant digits of an interval's width; to four of their own where an end is open. */
function digitsBetween(low: number | null, high: number | null): (value: number) => string {
  const width = low === null || high === null ? 0 : high - low;
  if (!(width > 0)) return (value) => value.toPrecision(4);
  const places = Math.max(0, 1 - Math.floor(Math.log10(width)));
  return (value) => value.toFixed(Math.min(places, 12));
}

function rounded({ at, low, high }: AgeingCell['knee']): string {
  const range = low === null || high === null ? '' : ` (95 %: ${low.toFixed(0)} to ${high.toFixed(0)})`;
  return `${at?.toFixed(0)}${range}`;
}

/** Not the limit of a quantity that the table does not hold. */
function isFollowed({ reason, forecast }: AgeingLimit): boolean {
  const missing = reason ?? forecast.reason;
  return missing !== 'no-resistance' && missing !== 'no-capacity';
}

function tellLimit({ name: code, crossedAt, crossedBetween, reason, forecast }: AgeingLimit): string {
  const name = limitWord(code);
  if (crossedAt !== null) {
    const low = crossedBetween?.low == null ? '' : `between ${crossedBetween.low} and `;
    const high = crossedBetween == null ? '' : ` (${low === '' ? 'before ' : low}${crossedBetween.high})`;
    return `${name}: reached at ${crossedAt}${high}`;
  }
  const missing = reason ?? forecast.reason;
  if (forecast.value === null)
    return `${name}: no forecast. ${missing === null ? '' : reasonSentences[missing]}`.trimEnd();
  const ends = `${forecast.low?.toFixed(0) ?? 'open'} to ${forecast.high?.toFixed(0) ?? 'open'}`;
  const ratio = forecast.ratio === null ? '' : `, ${forecast.ratio.toFixed(2)} times the observed range`;
  const bend =
    forecast.bendAhead === null
      ? ''
      : `; no data announce a further bend; the interval allows for one (${chance(forecast.bendAhead)})`;
  const by =
    forecast.reachedBy === null
      ? ''
      : `; reached by ${forecast.reachedBy.x} with ${chance(forecast.reachedBy.probability)}`;
  const lot =
    forecast.priorCells.length === 0
      ? ''
      : `; with ${forecast.priorCells.length} finished cells, ${
          forecast.priorConditions.length === 0
            ? 'whose conditions are not stated'
            : `matched by ${forecast.priorConditions.join(', ')}`
        }`;
  return `${name}: about ${forecast.value.toFixed(0)} (${100 * forecast.level} %: ${ends}${ratio}, ${forecast.method})${lot}${bend}${by}`;
}

function tellStress(stress: NonNullable<AgeingResult['stress']>): string[] {
  const explained = stress.explainedVarianceLeftOut;
  const share = explained === null ? 'none' : `${(100 * explained).toFixed(0)} %`;
  const verdicts = {
    usable: 'usable within the range of the data',
    weak: 'weak: it shows a direction, but no figure for a single cell',
    'cannot-tell': 'these cells cannot tell',
  };
  return [
    `life against stress (${stress.cells.length} cells, ${stress.limitName}): ${share} of the variance of ln life explained with cells left out one at a time; ${verdicts[stress.verdict]}`,
    ...stress.terms.map((term) => {
      const range = `${term.validFrom.toPrecision(3)} to ${term.validTo.toPrecision(3)} ${term.unit}`;
      const { effect } = term;
      const cost =
        effect == null || effect.factor === null
          ? ''
          : `; from one end to the other life is multiplied by ${effect.factor.toFixed(2)} (${100 * effect.level} %: ${effect.low?.toFixed(2)} to ${effect.high?.toFixed(2)})`;
      return `  ln life per ${term.unit} of ${term.name}: ${term.coefficient?.toPrecision(3) ?? 'none'} ± ${term.standardError?.toPrecision(2) ?? '?'} (valid ${range}${cost})`;
    }),
  ];
}

/** In whole percent; a probability that is not certain is never printed as 0 or 100 %. */
function chance(probability: number): string {
  if (probability > 0.99 && probability < 1) return 'over 99 %';
  if (probability < 0.01 && probability > 0) return 'under 1 %';
  return `${(100 * probability).toFixed(0)} %`;
}
