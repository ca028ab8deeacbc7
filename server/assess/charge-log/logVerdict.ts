import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';

type WithoutVerdict = Omit<ChargeLogResult, 'comparison'> & {
  comparison: Omit<ChargeLogResult['comparison'], 'verdict'>;
};

/** Times closer than this share are the same. */
const SAME_TIME = 0.005;
/** A single change that explains less than this share is not named. */
const NAMED_SHARE = 0.3;

/** What the comparison says, in sentences, the most important first. */
export function verdictOf(result: WithoutVerdict): string[] {
  return [...timeSentence(result), ...cellSentences(result), ...fitSentences(result)];
}

function timeSentence({ comparison }: WithoutVerdict): string[] {
  const { measured, computed } = comparison.timesS.end;
  if (measured === null || computed === null) return [];
  const apart = measured / computed - 1;
  const minutes = `${(measured / 60).toFixed(1)} min against ${(computed / 60).toFixed(1)} min`;
  if (Math.abs(apart) < SAME_TIME) return [`Charged in the computed time (${minutes}).`];
  const how = apart > 0 ? 'slower' : 'faster';
  return [`Charged ${(100 * Math.abs(apart)).toFixed(1)} % ${how} than computed (${minutes}).`];
}

function cellSentences({ comparison }: WithoutVerdict): string[] {
  const sentences = comparison.cells.flatMap(({ cell, deviation }) => {
    if (deviation === null) return [];
    const side = deviation.meanV > 0 ? 'above' : 'below';
    const millivolts = (1000 * Math.abs(deviation.meanV)).toFixed(0);
    const from = `${(100 * deviation.fromSoc).toFixed(0)} %`;
    const to = `${(100 * deviation.toSoc).toFixed(0)} % SOC`;
    return [`${cell}: ${millivolts} mV ${side} the model from ${from} to ${to}.`];
  });
  if (sentences.length > 0) return sentences;
  const largest = Math.max(...comparison.cells.map(({ rmsV }) => rmsV));
  return [`All cell voltages agree with the model within ${(1000 * largest).toFixed(1)} mV rms.`];
}

function fitSentences({ fit }: WithoutVerdict): string[] {
  if (fit === null) return [];
  const sentences: string[] = [];
  const best = fit.singleChanges[0];
  if (best !== undefined && best.explainedShare >= NAMED_SHARE)
    sentences.push(
      `One change explains ${(100 * best.explainedShare).toFixed(0)} % of the difference: ${changeWords(fit, best)}.`,
    );
  if (fit.verdict === 'does-not-explain-the-log')
    sentences.push(
      'The fitted model does not explain the log; its intervals are widened and conditional on it.',
    );
  for (const { a, b } of fit.inseparable.slice(0, 3))
    sentences.push(`The log hardly tells ${words(a.quantity, a.cell)} from ${words(b.quantity, b.cell)}.`);
  return sentences;
}

type Place = NonNullable<ChargeLogResult['fit']>['singleChanges'][number];

function changeWords(fit: NonNullable<ChargeLogResult['fit']>, { quantity, cell, value }: Place): string {
  const before = fit.estimates.find((one) => one.quantity === quantity && one.cell === cell)?.before ?? 0;
  const name = words(quantity, cell);
  if (quantity === 'startSoc') return `${name} ${signed(100 * (value - before))} percentage points`;
  if (before === 0) return `${name} ${value.toPrecision(3)}`;
  return `${name} ${signed(100 * (value / before - 1))} %`;
}

const signed = (value: number): string => `${value >= 0 ? '+' : '−'}${Math.abs(value).toFixed(1)}`;

const NAMES: Record<Place['quantity'], string> = {
  capacityAh: 'capacity',
  startSoc: 'start SOC',
  r0Factor: 'R0',
  branchFactor: 'branch resistance',
  slowOhm: 'slow branch',
  slowTauS: 'time constant of the slow branch',
  voltageOffsetV: 'voltage offset',
  currentOffsetA: 'current offset',
  edgeFraction: 'moment of a current step',
  ocvKnotV: 'open-circuit curve',
};

const words = (quantity: Place['quantity'], cell: string | null): string =>
  cell === null ? NAMES[quantity] : `${NAMES[quantity]} of ${cell}`;
