import { describe, expect, it } from 'vitest';
import { findPulses } from '../../../fitting/records/pulses.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import { type Part, recordOf } from './recordOf.ts';

const rest = (seconds = 60, intervalS = 1): Part => ({ seconds, currentA: 0, intervalS });
const load = (currentA: number, seconds = 10, intervalS = 0.1): Part => ({ seconds, currentA, intervalS });

function pulsesOf(parts: readonly Part[], options = {}) {
  const record = recordOf(parts);
  return findPulses(record, findSteps(record), options);
}

describe('findPulses(record, finding)', () => {
  it('finds discharge and charge pulses with their durations and currents', () => {
    const pulses = pulsesOf([rest(), load(-3, 30, 0.5), rest(40), load(2.25), rest()]);
    expect(pulses.map((pulse) => pulse.direction)).toEqual(['discharge', 'charge']);
    expect(pulses[0]).toMatchObject({ startTimeS: 60, zeroTimeS: 60, zeroUncertaintyS: 0, currentA: -3 });
    expect(pulses[0].durationS).toBeCloseTo(30, 9);
    expect(pulses[1].durationS).toBeCloseTo(10, 9);
  });

  it('takes a larger current out of a steady one for a pulse, a smaller one not', () => {
    const pulses = pulsesOf([rest(), load(-0.4), load(-2, 5), load(-1.5, 60), rest()]);
    expect(pulses.map((pulse) => [pulse.currentA, pulse.baseCurrentA])).toEqual([
      [-0.4, 0],
      [-2, -0.4],
    ]);
  });

  it('leaves out steps that are too long and those behind a gap', () => {
    expect(pulsesOf([rest(), load(-1, 600, 1), rest()])).toHaveLength(0);
    expect(pulsesOf([rest(), load(-1, 600, 1), rest()], { longestS: 700 })).toHaveLength(1);
    expect(pulsesOf([rest(), { ...load(-1), gapBeforeS: 2000 }, rest()])).toHaveLength(0);
  });

  it('keeps the end of a pulse that the voltage limit cuts back', () => {
    const pulses = pulsesOf([rest(), load(3, 5), { ...load(3, 5), taperS: 10 }, rest()]);
    expect(pulses).toHaveLength(1);
    expect(pulses[0].endedBy).toBe('voltage-limit');
    expect(pulses[0].durationS).toBeCloseTo(10, 9);
  });

  it('says which pulses met a limit early', () => {
    const parts = [rest(), load(-3), rest(), load(-3), rest(), { ...load(-3, 0.1), ocvV: 2.58 }, rest()];
    expect(pulsesOf(parts, { minVoltageV: 2.5 }).map((pulse) => pulse.endedBy)).toEqual([
      'time',
      'time',
      'voltage-limit',
    ]);
  });

  it('counts durations from the first reading where the current has not settled by then', () => {
    const rising = { ...load(-3), rising: [-2.8, -2.97] };
    const pulses = pulsesOf([rest(), rising, rest(), rising, rest()]);
    expect(pulses[0].startTimeS).toBeCloseTo(60, 9);
    expect(pulses[0].zeroTimeS).toBeCloseTo(60.1, 9);
    expect(pulses[0].zeroUncertaintyS).toBeCloseTo(0.1 / Math.sqrt(12), 9);
  });

  it('does not know the moment of the step better than the sampling where the rest was sampled coarsely', () => {
    const record = recordOf([rest(600, 60), load(-3)]);
    for (let i = 10; i < record.timeS.length; i++) record.timeS[i] += 20;
    const [pulse] = findPulses(record, findSteps(record));
    expect(pulse.startTimeS).toBeCloseTo(record.timeS[10] - 0.1, 9);
    expect(pulse.zeroUncertaintyS).toBeCloseTo(0.1 / Math.sqrt(12), 9);
  });
});
