import { describe, expect, it } from 'vitest';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import type { EvaluatedPulse } from '../../server/contract/evaluatedPulse.ts';
import { sharedIsMissing } from '../support/required.ts';
import { readShared } from './pulsesRecordFile.ts';

const folder = 'leaf-33ah';
const milliohms = (pulse: EvaluatedPulse, durationS: number): number =>
  1000 * (pulse.resistances.find((one) => one.durationS === durationS)?.valueOhm ?? Number.NaN);

// G. Wiggins, S. Allu, H. Wang, Oak Ridge National Laboratory (2019), doi:10.5281/zenodo.2580327
describe.skipIf(sharedIsMissing(`datasets/${folder}`))('33 Ah pouch cell, pulses at 25 and 10 °C', () => {
  it.each([
    ['25degC', 1.57, 2.5],
    ['10degC', 2.6, 3.8],
  ])(
    '%s: both directions at ten SOCs, about %d mΩ at 0.5 s and %d mΩ at 30 s near mid SOC',
    (name, early, late) => {
      const { pulses, pulsePowers } = evaluatePulseRecord(readShared(`${folder}/hppc_${name}.csv`), {
        ratedCapacityAh: 33.1,
        maxVoltageV: 4.2,
      });
      const discharges = pulses.filter((pulse) => pulse.direction === 'discharge');
      const charges = pulses.filter((pulse) => pulse.direction === 'charge');
      expect(discharges).toHaveLength(10);
      expect(charges).toHaveLength(10);
      for (const pulse of discharges) {
        expect(pulse.currentA).toBeCloseTo(-30, 1);
        expect(pulse.durationS).toBeCloseTo(30, 0);
      }
      for (const pulse of charges) expect(pulse.durationS).toBeCloseTo(10, 0);
      const middle = discharges[5];
      expect(Math.abs(milliohms(middle, 0.5) / early - 1)).toBeLessThan(0.02);
      expect(Math.abs(milliohms(middle, 30) / late - 1)).toBeLessThan(0.025);
      expect(pulsePowers).toHaveLength(10);
      expect(pulsePowers[5].chargeResistanceOhm).toBeGreaterThan(0);
      expect(pulsePowers[5].chargeOcvV).toBeLessThan(pulsePowers[5].dischargeOcvV as number);
      expect(pulsePowers[5].dischargeReason).toBe('limit-not-given');
    },
  );

  it('knows that the charge pulse near full was cut back by the 4.2 V limit, and gives its resistance with more uncertainty', () => {
    const { pulses } = evaluatePulseRecord(readShared(`${folder}/hppc_25degC.csv`), { maxVoltageV: 4.2 });
    const [first, second] = pulses.filter((pulse) => pulse.direction === 'charge');
    expect(first.endedBy).toBe('voltage-limit');
    expect(second.endedBy).toBe('time');
    const u = (pulse: EvaluatedPulse) =>
      pulse.resistances.find((one) => one.durationS === 10)?.standardUncertaintyOhm ?? Number.NaN;
    expect(u(first)).toBeGreaterThan(2 * u(second));
  });

  it('does not give a resistance at 0.1 s where the pulse was sampled each 0.5 s', () => {
    const { pulses } = evaluatePulseRecord(readShared(`${folder}/hppc_25degC.csv`));
    expect(pulses[0].resistances[0]).toMatchObject({
      durationS: 0.1,
      valueOhm: null,
      reason: 'sampling-too-coarse',
    });
  });
});
