import type { EvaluatedPulse } from '../../../../server/contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { percent, significant } from '../../format/number.ts';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { useShownPulse } from './useShownPulse.ts';

const width = 96;
const height = 54;

interface Reading {
  readonly durationS: number;
  readonly ohm: number;
}

/** All pulses as small pictures on one scale: resistance over the logarithm of the time since the step. */
export function PulseMultiples({ result }: { result: EvaluatedPulseRecord }) {
  const [units] = useUnits();
  const [shown, show] = useShownPulse(result);
  const { symbol, factor } = displayUnit('Ohm', units);
  const all = result.pulses.flatMap(readingsOf);
  if (result.pulses.length < 2 || all.length < 4) return null;
  const scale = {
    times: [Math.min(...all.map((r) => r.durationS)), Math.max(...all.map((r) => r.durationS))],
    ohms: [Math.min(...all.map((r) => r.ohm)), Math.max(...all.map((r) => r.ohm))],
  } as const;
  return (
    <section aria-label={say('test.allPulsesBesideEachOther')}>
      <p>{say('test.pulseMultiplesAbout')}</p>
      <div className="multiples">
        {result.pulses.map((pulse) => (
          <button
            key={pulse.index}
            type="button"
            className={`multiple ${pulse.direction}`}
            aria-pressed={shown === String(pulse.index)}
            onClick={() => show(pulse)}
          >
            <span>
              {pulse.index + 1} · {pulse.socBefore === null ? '–' : percent(pulse.socBefore, 0)}
            </span>
            <svg viewBox={`0 0 ${width} ${height}`} width={width} height={height} aria-hidden="true">
              <polyline points={lineOf(readingsOf(pulse), scale)} />
            </svg>
            <span>{lastOf(pulse, factor, symbol)}</span>
          </button>
        ))}
      </div>
    </section>
  );
}

function readingsOf({ resistances }: EvaluatedPulse): Reading[] {
  return resistances.flatMap(({ durationS, valueOhm }) =>
    valueOhm === null ? [] : [{ durationS, ohm: valueOhm }],
  );
}

interface Scale {
  readonly times: readonly [number, number];
  readonly ohms: readonly [number, number];
}

function lineOf(readings: readonly Reading[], { times, ohms }: Scale): string {
  const across = (s: number) => Math.log(s / times[0]) / (Math.log(times[1] / times[0]) || 1);
  const up = (ohm: number) => (ohm - ohms[0]) / (ohms[1] - ohms[0] || 1);
  return readings
    .map(
      (r) =>
        `${(3 + (width - 6) * across(r.durationS)).toFixed(1)},${(height - 3 - (height - 6) * up(r.ohm)).toFixed(1)}`,
    )
    .join(' ');
}

/** The last reading in words, with the direction of the pulse. */
function lastOf(pulse: EvaluatedPulse, factor: number, symbol: string): string {
  const last = readingsOf(pulse).at(-1);
  const value = last === undefined ? '–' : `${significant(last.ohm * factor, 3)} ${symbol}`;
  return `${plainCode(pulse.direction)}, ${value}`;
}
