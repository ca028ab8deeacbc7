import { Button } from '@mantine/core';
import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { fixed, percent, significant, withUncertainty, written } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { durationsOf } from './pulsePictures.ts';
import { useShownPulse } from './useShownPulse.ts';

/** Every pulse with its resistances; a click shows it in the record with its fit. */
export function PulseTable({ result }: { result: EvaluatedPulseRecord }) {
  const [units] = useUnits();
  const [shown, show] = useShownPulse(result);
  const { symbol, factor } = displayUnit('Ohm', units);
  const durations = durationsOf(result);
  if (result.pulses.length === 0) return <p>{say('test.noPulseWasFoundInThis')}</p>;
  return (
    <Sheet
      label={say('test.pulses')}
      head={[
        say('test.pulse'),
        'SOC',
        say('test.direction'),
        say('test.currentA'),
        say('test.atRestBeforeV'),
        say('test.endedBy'),
        ...durations.map((d) => `R(${written(String(d))} s), ${symbol}`),
      ]}
      numeric={[1, 3, 4, ...durations.map((_, i) => 6 + i)]}
      rows={result.pulses.map((p) => [
        <Button
          key="show"
          size="compact-xs"
          variant={shown === String(p.index) ? 'filled' : 'default'}
          aria-label={say('test.showPulseIndexInTheRecord', { index: p.index + 1 })}
          onClick={() => show(p)}
        >
          {p.index + 1}
        </Button>,
        p.socBefore === null ? <Gap key="soc" reason={p.socBeforeReason} /> : percent(p.socBefore),
        plainCode(p.direction),
        significant(p.currentA, 4),
        fixed(p.restVoltageV, 4),
        plainCode(p.endedBy),
        ...durations.map((d) => {
          const r = p.resistances.find((x) => x.durationS === d);
          if (r === undefined || r.valueOhm === null) return <Gap key={d} reason={r?.reason ?? null} />;
          return (
            <span
              key={d}
              title={say('test.sampledAtS', {
                method: r.method,
                sampledAtS: r.sampledAtS === null ? '–' : significant(r.sampledAtS, 3),
              })}
            >
              {r.standardUncertaintyOhm === null
                ? significant(r.valueOhm * factor)
                : withUncertainty(r.valueOhm * factor, r.standardUncertaintyOhm * factor)}
            </span>
          );
        }),
      ])}
    />
  );
}

/** A missing number with its reason on pointing and for readers that do not see. */
export function Gap({ reason }: { reason: string | null }) {
  const sentence = reasonSentence(reason);
  return (
    <span title={sentence}>
      –<span className="for-readers">{sentence}</span>
    </span>
  );
}
