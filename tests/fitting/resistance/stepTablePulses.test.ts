import { describe, expect, it } from 'vitest';
import { tabledResistances } from '../../../fitting/resistance/pulseTableRow.ts';
import { type LoggedStep, stepTablePulses } from '../../../fitting/resistance/stepTablePulses.ts';

function log(durations: readonly number[], pauseS = 0.3): LoggedStep[] {
  let now = 0;
  return durations.flatMap((durationS, k) => {
    const current = k % 2 === 0 ? 2 : -2;
    const make = (lastS: number, currentA: number): LoggedStep => {
      const step = {
        startTimeS: now,
        durationS: lastS,
        startVoltageV: 3.7 + 0.02 * currentA,
        endVoltageV: 3.7 + 0.03 * currentA,
        startCurrentA: currentA,
        endCurrentA: currentA,
      };
      now += lastS + pauseS;
      return step;
    };
    return [make(60, 0), make(durationS, current)];
  });
}

describe('stepTablePulses(steps)', () => {
  it('gives the first and the end resistance of every pulse with its duration', () => {
    const pulses = stepTablePulses(log([5, 5, 1, 1]));
    expect(pulses.map((pulse) => [pulse.direction, pulse.durationS])).toEqual([
      ['charge', 5],
      ['discharge', 5],
      ['charge', 1],
      ['discharge', 1],
    ]);
    for (const pulse of pulses) {
      expect(pulse.firstResistanceOhm).toBeCloseTo(0.02, 12);
      expect(pulse.endResistanceOhm).toBeCloseTo(0.03, 12);
      expect(pulse.endedEarly).toBe(false);
    }
  });

  it('marks a pulse that is shorter than its like', () => {
    const pulses = stepTablePulses(log([5, 5, 5, 3.2]));
    expect(pulses[3]).toMatchObject({ endedEarly: true, intendedDurationS: 5, durationS: 3.2 });
  });

  it('leaves out a pulse after a long pause of the log', () => {
    expect(stepTablePulses(log([5, 5], 4000))).toHaveLength(0);
  });
});

describe('tabledResistances(pulse)', () => {
  it('is null where the voltage moved against the current', () => {
    const pulse = { restVoltageV: 3.7, startVoltageV: 3.69, endVoltageV: 3.72, currentA: 2 };
    expect(tabledResistances(pulse).first).toBeNull();
    expect(tabledResistances(pulse).end).toBeCloseTo(0.01, 12);
    expect(() => tabledResistances({ ...pulse, currentA: 0 })).toThrow(/0 A/);
  });
});
