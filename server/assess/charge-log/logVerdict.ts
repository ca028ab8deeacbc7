import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';

type Comparison = Omit<ChargeLogResult['comparison'], 'verdict'>;
type Fit = NonNullable<ChargeLogResult['fit']>;

/** Times closer than this share are the same. */
const SAME_TIME = 0.005;
/** A single change that explains less than this share is not named. */
const NAMED_SHARE = 0.3;
/** A curve's error is named where it is this many times the stated one. */
const CURVE_TIMES = 2;

/** What the comparison of one log says, in sentences, the most important first. */
export function logSentences(comparison: Comparison): string[] {
  return [...timeSentence(comparison), ...cellSentences(comparison)];
}

function timeSentence(comparison: Comparison): string[] {
  const { measured, computed } = comparison.timesS.end;
  if (measured === null || computed === null) return [];
  const apart = measured / computed - 1;
  const minutes = `${(measured / 60).toFixed(1)} min against ${(computed / 60).toFixed(1)} min`;
  if (Math.abs(apart) < SAME_TIME) return [`Charged in the computed time (${minutes}).`];
  const how = apart > 0 ? 'slower' : 'faster';
  return [`Charged ${(100 * Math.abs(apart)).toFixed(1)} % ${how} than computed (${minutes}).`];
}

function cellSentences(comparison: Comparison): string[] {
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

/** What the fit says: the change that explains most, whether it explains the logs, and what it cannot tell apart. */
export function fitSentences(fit: Fit, logs: number): string[] {
  const sentences: string[] = [];
  const explains = fit.verdict === 'explains-the-log';
  const best = fit.singleChanges[0];
  // A model that is not that of the log names no cause.
  if (explains && best !== undefined && best.explainedShare >= NAMED_SHARE)
    sentences.push(
      `One change explains ${(100 * best.explainedShare).toFixed(0)} % of the difference: ${changeWords(fit, best, logs)}.`,
    );
  if (!explains)
    sentences.push(
      `The fitted model does not explain the ${logs === 1 ? 'log' : 'logs'}: no cause is named, and its values have no intervals.`,
    );
  for (const { quantity, cell, log, value } of fit.estimates)
    if (quantity === 'voltageOffsetV' && offCells(fit).includes(cell))
      sentences.push(
        `The ${words({ quantity, cell, log }, logs)} comes out at ${signed(1000 * value)} mV, more than its stated uncertainty allows: check the channel. The other values of ${cell} have no interval, because a gain error would move them.`,
      );
  const held = fit.estimates.filter(({ reason }) => reason === 'held-at-study');
  if (held.length > 0)
    sentences.push(
      `The ${logs === 1 ? 'log does' : 'logs do'} not determine ${held.map((one) => words(one, logs)).join(' and ')}: ${held.length === 1 ? 'it is held' : 'they are held'} as in the study, and the other values hold only with that.`,
    );
  const alike = fit.inseparable.map(
    ({ a, b }) =>
      `The ${logs === 1 ? 'log hardly tells' : 'logs hardly tell'} ${words(a, logs)} from ${words(b, logs)}.`,
  );
  return [
    ...sentences,
    ...[...new Set(alike)].slice(0, 3),
    ...togetherSentences(fit),
    ...curveSentences(fit),
  ];
}

/** Cells whose R0 and branches the logs do not tell apart: what both do together, at the duration at which it is known best. */
function togetherSentences(fit: Fit): string[] {
  const alike = (cell: string): boolean =>
    fit.inseparable.some(({ a, b }) => [a, b].every((one) => one.cell === cell && isResistance(one))) ||
    fit.estimates.some((one) => one.cell === cell && isResistance(one) && one.reason === 'held-at-study');
  const cells = [...new Set((fit.resistances ?? []).map(({ cell }) => cell))].filter(alike);
  return cells.flatMap((cell) => {
    const known = (fit.resistances ?? []).filter((one) => one.cell === cell && one.standardError !== null);
    const [best] = known.sort((a, b) => (a.standardError ?? 0) - (b.standardError ?? 0));
    if (best === undefined || best.ratio === null || best.low === null || best.high === null) return [];
    const percent = (value: number): string => (100 * value).toFixed(1);
    return [
      `R0 and branches of ${cell} together, ${best.durationS} s after a step of the current: ${percent(best.ratio)} % of the study's (${percent(best.low)} to ${percent(best.high)}, 95 %).`,
    ];
  });
}

const isResistance = ({ quantity }: Pick<Place, 'quantity'>): boolean =>
  quantity === 'r0Factor' || quantity === 'branchFactor';

/** Curves of which the logs show a larger error than is stated. */
function curveSentences({ curves, verdict }: Fit): string[] {
  if (verdict !== 'explains-the-log') return [];
  return (curves ?? [])
    .filter(({ statedV, shownV }) => shownV > CURVE_TIMES * statedV)
    .map(
      ({ cell, statedV }) =>
        `The measured voltages show a larger error of the open-circuit curve of ${cell} than the ${(1000 * statedV).toPrecision(2)} mV stated: the intervals of ${cell} are wider by that.`,
    );
}

const offCells = (fit: Fit): (string | null)[] =>
  fit.estimates.filter(({ reason }) => reason === 'voltage-channel-off').map(({ cell }) => cell);

type Place = Fit['singleChanges'][number];

function changeWords(fit: Fit, change: Place, logs: number): string {
  const { quantity, cell, log, value } = change;
  const same = fit.estimates.find((one) => one.quantity === quantity && one.cell === cell && one.log === log);
  const before = same?.before ?? 0;
  const name = words(change, logs);
  if (quantity === 'startSoc') return `${name} ${signed(100 * (value - before))} percentage points`;
  if (quantity === 'voltageOffsetV') return `${name} ${signed(1000 * value)} mV`;
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
  heatCapacityJPerK: 'heat capacity',
  heatTransferWPerK: 'heat transfer',
};

function words({ quantity, cell, log }: Pick<Place, 'quantity' | 'cell' | 'log'>, logs: number): string {
  const what = cell === null ? NAMES[quantity] : `${NAMES[quantity]} of ${cell}`;
  return log === null || logs === 1 ? what : `${what} in log ${log + 1}`;
}
