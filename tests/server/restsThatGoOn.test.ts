import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { type SimulatedBench, simulatedRecord } from '../support/simulatedPulses.ts';

const DISCHARGE_S = 720;
const CURRENT_A = -1.5;
const SLOPE_V_PER_AS = 0.6 / (3 * 3600);

/** Five discharges with a rest of `restS` after each, of a cell with a process as slow as `slowS`. */
function bench(slowS: number, restS: number, stepV: number): SimulatedBench {
  const rest = { durationS: restS, currentA: 0 };
  const discharge = { durationS: DISCHARGE_S, currentA: CURRENT_A };
  return {
    cell: {
      r0Ohm: 0.03,
      branches: [
        { rOhm: 0.015, tauS: 6 },
        { rOhm: 0.02, tauS: 70 },
        { rOhm: 0.02, tauS: slowS },
      ],
      ocvV: 3.9,
      slopeVPerAs: SLOPE_V_PER_AS,
    },
    programme: [
      { durationS: 120, currentA: 0 },
      ...Array.from({ length: 5 }, () => [discharge, rest]).flat(),
    ],
    intervalS: 5,
    phase: 0,
    noiseV: 2e-4,
    noiseA: 2e-4,
    stepV,
  };
}

describe('the open-circuit voltage of a rest that has not come to its end', () => {
  it('lies within its interval in at least 90 of 100 rests, however slow the slowest process', () => {
    const random = seededRandom(21);
    let [rests, inside] = [0, 0];
    for (const restS of [600, 1800, 3600]) {
      for (const stepV of [0, 1e-3]) {
        for (let k = 0; k < 4; k++) {
          const slowS = 300 * 6 ** random();
          const record = simulatedRecord(bench(slowS, restS, stepV), random, normalSource(random));
          const found = evaluatePulseRecord(record, { ratedCapacityAh: 3, startSoc: 1 }).rests.slice(-5);
          found.forEach(({ ocvV, ocvStandardUncertaintyV }, i) => {
            if (ocvV === null || ocvStandardUncertaintyV === null) return;
            const truth = 3.9 + (i + 1) * DISCHARGE_S * CURRENT_A * SLOPE_V_PER_AS;
            rests++;
            if (Math.abs(ocvV - truth) <= 1.96 * ocvStandardUncertaintyV) inside++;
          });
        }
      }
    }
    expect(rests).toBeGreaterThan(90);
    expect(inside / rests).toBeGreaterThanOrEqual(0.9);
  });

  it('is known to a millivolt after an hour where the slowest process takes five minutes', () => {
    const random = seededRandom(5);
    const record = simulatedRecord(bench(300, 3600, 0), random, normalSource(random));
    const found = evaluatePulseRecord(record, { ratedCapacityAh: 3, startSoc: 1 }).rests.slice(-5);
    for (const { ocvStandardUncertaintyV } of found) expect(ocvStandardUncertaintyV ?? 1).toBeLessThan(1e-3);
  });
});
