import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateCapacityRecord } from '../../server/assess/capacity/evaluateCapacityRecord.ts';
import { evaluateRestRecord } from '../../server/assess/open-circuit/evaluateRestRecord.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { simulatedRecord } from '../support/simulatedPulses.ts';

/**
 * No stated uncertainty may be smaller than what noise, resolution and sampling of its record allow: σ/√n for any use of n rows
 * with noise σ, and for readings in steps that the noise does not blur, a good part of the step's own q/√12, which no number of
 * rows takes away. Half of each is asked for, because noise and steps are estimated.
 */
const SHARE = 0.5;
const seeded = { seed: 20_261_130, verbose: true };

/** The least standard uncertainty of a level that is read n times with noise σ in steps of q. */
function leastOf(noise: number, step: number, rows: number): number {
  const unblurred = step > 4 * noise ? step / Math.sqrt(12) : 0;
  return SHARE * Math.max(noise / Math.sqrt(rows), 0.5 * unblurred);
}

const bench = fc.record({
  seed: fc.integer({ min: 1, max: 1e6 }),
  intervalS: fc.constantFrom(0.1, 0.5, 1),
  noiseV: fc.constantFrom(2e-5, 2e-4, 2e-3),
  stepV: fc.constantFrom(0, 1e-4, 1e-3, 5e-3),
  stepA: fc.constantFrom(0, 5e-3),
  currentA: fc.constantFrom(-0.5, -2.5, 5),
  restS: fc.constantFrom(20, 120),
});

describe('no stated uncertainty is below what the record allows', () => {
  it('of a pulse: R(t), R0, R1 and OCV', { timeout: 60_000 }, () => {
    fc.assert(
      fc.property(bench, ({ seed, intervalS, noiseV, stepV, stepA, currentA, restS }) => {
        const random = seededRandom(seed);
        const cell = { r0Ohm: 0.03, branches: [{ rOhm: 0.015, tauS: 5 }], ocvV: 3.7, slopeVPerAs: 0 };
        const programme = [
          { durationS: 60, currentA: 0 },
          { durationS: 10, currentA },
          { durationS: restS, currentA: 0 },
        ];
        const noiseA = 1e-4;
        const more = { intervalS, phase: 'any' as const, noiseV, noiseA, stepV, stepA };
        const record = simulatedRecord({ cell, programme, ...more }, random, normalSource(random));
        for (const pulse of evaluatePulseRecord(record, {}).pulses) {
          const rows = 10 / intervalS;
          const size = Math.abs(pulse.currentA);
          const least = leastOf(noiseV, stepV, rows) / size;
          for (const { valueOhm, standardUncertaintyOhm } of pulse.resistances) {
            if (valueOhm !== null) expect(standardUncertaintyOhm).toBeGreaterThan(least);
          }
          const { circuit } = pulse;
          if (circuit === null || circuit.r0StandardErrorOhm === null) continue;
          expect(circuit.r0StandardErrorOhm).toBeGreaterThan(least);
          expect(circuit.ocvStandardErrorV).toBeGreaterThan(
            SHARE * (noiseV / Math.sqrt(record.timeS.length)),
          );
          if (circuit.branches !== 1 || circuit.r1Ohm === null || circuit.tau1S === null) continue;
          // R1/τ1 may belong to R0 for as long as the rows leave the edge open.
          const open = (0.25 * intervalS * circuit.r1Ohm) / circuit.tau1S;
          expect(circuit.r0StandardErrorOhm).toBeGreaterThan(open);
          expect(circuit.r1StandardErrorOhm).toBeGreaterThan(open);
        }
      }),
      { ...seeded, numRuns: 40 },
    );
  });

  it('of a capacity: noise and resolution of the current, and the rows where it ends', {
    timeout: 60_000,
  }, () => {
    const made = fc.record({
      seed: fc.integer({ min: 1, max: 1e6 }),
      intervalS: fc.constantFrom(1, 10, 60),
      noiseA: fc.constantFrom(1e-4, 5e-3),
      stepA: fc.constantFrom(0, 1e-2),
    });
    fc.assert(
      fc.property(made, ({ seed, intervalS, noiseA, stepA }) => {
        const random = seededRandom(seed);
        const normal = normalSource(random);
        const startS = 300 + random() * intervalS;
        const count = Math.ceil((startS + 3600) / intervalS) + 5;
        const timeS = Float64Array.from({ length: count }, (_, k) => k * intervalS);
        const exact = timeS.map((t) => (t < startS || t > startS + 3600 ? 0 : -2));
        const round = (value: number) => (stepA > 0 ? Math.round(value / stepA) * stepA : value);
        const currentA = exact.map((i) => round(i + noiseA * normal()));
        const voltageV = timeS.map((t, k) => {
          const share = Math.min(1, Math.max(0, (t - startS) / 3600));
          return 4.1 - share + 0.04 * exact[k] + 2e-4 * normal();
        });
        const { runs } = evaluateCapacityRecord({ timeS, currentA, voltageV }, {
          cutoffVoltageV: null,
          ratedCapacityAh: 2,
          definition: 'whole-record',
        } as Parameters<typeof evaluateCapacityRecord>[1]);
        for (const { capacityAh, standardUncertaintyAh } of runs) {
          if (capacityAh === null) continue;
          const rows = 3600 / intervalS;
          const ofNoise = (noiseA * intervalS * Math.sqrt(rows)) / 3600;
          // The current switched on and off somewhere between two rows.
          const ofEnds = (2 * intervalS) / Math.sqrt(6) / 3600;
          const ofSteps = stepA > 4 * noiseA ? (0.5 * stepA) / Math.sqrt(12) : 0;
          expect(standardUncertaintyAh).toBeGreaterThan(SHARE * Math.max(ofNoise, ofEnds, ofSteps));
        }
      }),
      { ...seeded, numRuns: 40 },
    );
  });

  it('of a rest: the drift of its voltage', () => {
    const made = fc.record({
      seed: fc.integer({ min: 1, max: 1e6 }),
      intervalS: fc.constantFrom(10, 60),
      hours: fc.constantFrom(3, 24),
      noiseV: fc.constantFrom(1e-5, 2e-4),
      stepV: fc.constantFrom(0, 1e-4, 1e-3),
    });
    fc.assert(
      fc.property(made, ({ seed, intervalS, hours, noiseV, stepV }) => {
        const normal = normalSource(seededRandom(seed));
        const timeS = Float64Array.from({ length: (hours * 3600) / intervalS }, (_, k) => k * intervalS);
        const voltageV = timeS.map((t) => {
          const exact = 3.7 - (0.001 * t) / 86_400 + noiseV * normal();
          return stepV > 0 ? Math.round(exact / stepV) * stepV : exact;
        });
        const result = evaluateRestRecord({ timeS, voltageV, currentA: new Float64Array(timeS.length) });
        if (result.driftStandardUncertaintyMvPerDay === null) return;
        const lengthDays = (hours * 3600 - (result.usedFromS ?? 0)) / 86_400;
        const rows = (lengthDays * 86_400) / intervalS;
        const ofNoise = (1000 * noiseV * Math.sqrt(12 / rows)) / lengthDays;
        // Within one step the voltage may have moved by a good part of it unseen.
        const ofSteps = stepV > 4 * noiseV ? (0.5 * 1000 * stepV) / Math.sqrt(12) / lengthDays : 0;
        expect(result.driftStandardUncertaintyMvPerDay).toBeGreaterThan(SHARE * Math.max(ofNoise, ofSteps));
      }),
      { ...seeded, numRuns: 60 },
    );
  });
});
