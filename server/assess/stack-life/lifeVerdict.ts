import type { LifeDrift, LifeTrack } from '../../contract/stackLife.ts';

/** What the life of a stack says, in sentences, drift first where there is some. */
export function lifeVerdict(tracks: readonly LifeTrack[], drift: readonly LifeDrift[]): string[] {
  const apart = drift.filter(({ drifting }) => drifting);
  const other = drift.filter(({ drifting, perCycleAh }) => !drifting && perCycleAh !== null);
  return [
    ...apart.map((one) => `The stack drifts apart: ${driftWords(one)}.`),
    ...tracks.filter(({ change }) => change !== null).map(trackSentence),
    ...other.map((one) => `Drift of ${driftWords(one)}.`),
  ];
}

function driftWords({ serial, perCycleAh }: LifeDrift): string {
  if (perCycleAh === null) return serial;
  const { value, low, high } = perCycleAh;
  const milli = (ah: number) => signed(1000 * ah, 3);
  const interval = low === null || high === null ? '' : ` (${milli(low)} to ${milli(high)})`;
  return `${serial} against the first cell ${milli(value)}${interval} mAh per cycle`;
}

function trackSentence({
  serial,
  quantity,
  source,
  durationS,
  soc,
  temperatureC,
  change,
}: LifeTrack): string {
  const { value, low, high, fromCycle, toCycle } = change ?? {
    value: 0,
    low: null,
    high: null,
    fromCycle: 0,
    toCycle: 0,
  };
  const half = low === null || high === null ? '' : ` ± ${(50 * (high - low)).toFixed(1)}`;
  const at = [
    durationS === null ? '' : `${durationS} s`,
    soc === null ? '' : `${(100 * soc).toFixed(0)} % SOC`,
    temperatureC === null ? '' : `${temperatureC.toFixed(0)} °C`,
  ].filter((part) => part !== '');
  const what =
    quantity === 'capacity' ? 'Capacity' : source === 'charge' ? 'R0 from measured charges' : 'Resistance';
  const where = quantity === 'capacity' || at.length === 0 ? '' : ` at ${at.join(', ')}`;
  return `${what} of ${serial}${where}: ${signed(100 * value, 1)} %${half} from cycle ${fromCycle} to ${toCycle}.`;
}

const signed = (value: number, decimals: number): string =>
  `${value >= 0 ? '+' : '−'}${Math.abs(value).toFixed(decimals)}`;
