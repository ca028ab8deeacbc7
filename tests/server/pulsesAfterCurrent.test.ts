import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { type SimulatedBench, simulatedRecord } from '../support/simulatedPulses.ts';

const cell = {
  r0Ohm: 0.03,
  branches: [
    { rOhm: 0.015, tauS: 5 },
    { rOhm: 0.02, tauS: 60 },
  ],
  ocvV: 3.7,
  slopeVPerAs: 0,
};
const bench: Omit<SimulatedBench, 'programme'> = { cell, intervalS: 0.1, phase: 0, noiseV: 5e-5, noiseA: 0 };
const rest = (durationS: number) => ({ durationS, currentA: 0 });
const pulse = (currentA: number) => ({ durationS: 10, currentA });

describe('a pulse soon after an earlier current', () => {
  it.each([20, 40, 120, 310])('keeps its branches %d s after a pulse, in both directions', (restS) => {
    for (const direction of [1, -1]) {
      const random = seededRandom(restS);
      const programme = [rest(60), pulse(-2.5 * direction), rest(restS), pulse(2.5 * direction), rest(300)];
      const { pulses } = evaluatePulseRecord(
        simulatedRecord({ ...bench, programme }, random, normalSource(random)),
      );
      expect(pulses).toHaveLength(2);
      const { circuit } = pulses[1];
      expect(circuit?.branches).toBe(2);
      expect(Math.abs(circuit!.r0Ohm / 0.03 - 1)).toBeLessThan(0.01);
      expect(Math.abs(circuit!.r2Ohm! / 0.02 - 1)).toBeLessThan(0.02);
      expect(Math.abs(circuit!.tau2S! / 60 - 1)).toBeLessThan(0.02);
    }
  });
});
