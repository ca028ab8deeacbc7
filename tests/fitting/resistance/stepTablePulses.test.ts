import { describe, expect, it } from 'vitest';
import { type LoggedStep, stepTablePulses } from '../../../fitting/resistance/stepTablePulses.ts';
import { tabledResistances } from '../../support/pulseTableRow.ts';

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

  it('tells what a pulse was meant to last from the rests around it, and its limit from pulses cut short', () => {
    let now = 0;
    const step = (durationS: number, currentA: number, endVoltageV: number): LoggedStep => {
      const made = {
        startTimeS: now,
        durationS,
        startVoltageV: 3.9,
        endVoltageV,
        startCurrentA: currentA,
        endCurrentA: currentA,
      };
      now += durationS + 0.2;
      return made;
    };
    const pulse = (restS: number, durationS: number, endVoltageV: number): LoggedStep[] => [
      step(restS, 0, 3.9),
      step(durationS, 2, endVoltageV),
    ];
    const steps = [
      ...[1, 1, 1, 1].flatMap((durationS) => pulse(15, durationS, 4.1)),
      ...pulse(15, 0.3, 4.2),
      ...pulse(15, 1.4, 4.21),
      ...pulse(15, 1, 4.1),
      ...[0.3, 0.3, 0.3, 0.3].flatMap((durationS) => pulse(4.5, durationS, 4.05)),
      step(4.5, 0, 3.9),
    ];
    const found = stepTablePulses(steps);
    expect(found[4]).toMatchObject({ intendedDurationS: 1, endedEarly: true, endedByVoltageLimit: true });
    expect(found[5]).toMatchObject({ intendedDurationS: 1, endedEarly: false, endedByVoltageLimit: true });
    expect(found.filter((one) => one.endedByVoltageLimit)).toHaveLength(2);
    expect(found[8]).toMatchObject({ intendedDurationS: 0.3, endedEarly: false });
    const passed = steps.map((one, i) => (i === 1 ? { ...one, endVoltageV: 4.25 } : one));
    expect(stepTablePulses(passed).some((one) => one.endedByVoltageLimit)).toBe(false);
    expect(stepTablePulses(passed)[4].endedEarly).toBe(true);
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
