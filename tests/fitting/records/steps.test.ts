import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findPulses } from '../../../fitting/records/pulses.ts';
import { columnResolution, printedStep } from '../../../fitting/records/resolution.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import { type Part, recordOf } from './recordOf.ts';

const rest = (seconds = 100, intervalS = 1): Part => ({ seconds, currentA: 0, intervalS });
const load = (currentA: number, seconds = 10, intervalS = 0.1): Part => ({ seconds, currentA, intervalS });
const kindsOf = (record: ReturnType<typeof recordOf>): string[] =>
  findSteps(record).steps.map((step) => step.kind);

describe('findSteps(record)', () => {
  it('tells rest, constant current and constant voltage apart', () => {
    const record = recordOf([rest(), load(2, 600, 1), { ...load(2, 900, 1), taperS: 300 }, rest()]);
    expect(kindsOf(record)).toEqual(['rest', 'constant-current', 'constant-voltage', 'rest']);
  });

  it.each([0.05, 0.15, 0.4])('takes a current that settles with %f s for one step', (tauS) => {
    const way = (fromA: number, toA: number): Part[] =>
      Array.from({ length: Math.round(80 * tauS) }, (_, i) =>
        load(toA + (fromA - toA) * Math.exp(-(i + 0.7) / (10 * tauS)), 0.1),
      );
    const record = recordOf([rest(60, 0.1), ...way(0, -2.5), load(-2.5), ...way(-2.5, 0), rest(60, 0.1)]);
    expect(kindsOf(record)).toEqual(['rest', 'constant-current', 'rest']);
  });

  it('keeps levels of half a second apart', () => {
    const record = recordOf([rest(60, 0.1), load(-1, 0.5), load(-2, 0.5), load(-2.5), rest(60, 0.1)]);
    expect(findSteps(record).steps.map(({ currentA }) => currentA)).toEqual([0, -1, -2, -2.5, 0]);
  });

  it('sees no spikes in the current of a held voltage that is read once a minute', () => {
    const taper = { ...load(10, 7200, 60), taperS: 1500 };
    const record = recordOf([rest(), load(-33, 600, 1), rest(), load(10, 3600, 60), taper, rest()], {
      noiseA: 0.02,
      resolutionA: 0.01,
      resolutionV: 1e-3,
      seed: 3,
    });
    expect(findSteps(record).spikeRows).toEqual([]);
  });

  it('gives every row to exactly one step, in order', () => {
    const parts = fc.array(
      fc.record({
        seconds: fc.integer({ min: 1, max: 30 }),
        currentA: fc.constantFrom(0, -4, -1, 2, 3),
        intervalS: fc.constantFrom(0.1, 0.5, 1),
      }),
      { minLength: 1, maxLength: 8 },
    );
    fc.assert(
      fc.property(parts, fc.integer({ min: 1, max: 99 }), (made, seed) => {
        const record = recordOf(made, { noiseV: 2e-4, noiseA: 0.005, seed });
        const { steps } = findSteps(record);
        expect(steps[0].start).toBe(0);
        expect(steps[steps.length - 1].end).toBe(record.timeS.length);
        for (let s = 1; s < steps.length; s++) expect(steps[s].start).toBe(steps[s - 1].end);
      }),
      { numRuns: 60 },
    );
  });

  it('takes the levels of a log of programmed currents for what they are, not for a coarse reading', () => {
    const parts = Array.from({ length: 6 }, () => [
      rest(600, 5),
      load(-2, 30, 0.5),
      load(-0.05, 900, 5),
    ]).flat();
    expect(kindsOf(recordOf(parts, { ohm: 0.05 }))).toEqual(
      Array.from({ length: 6 }, () => ['rest', 'constant-current', 'constant-current']).flat(),
    );
    const capacity = Array.from({ length: 5 }, () => [load(-2, 720, 5), rest(900, 5)]).flat();
    expect(kindsOf(recordOf([rest(), ...capacity], { ohm: 0.05 }))).toEqual([
      'rest',
      ...Array.from({ length: 5 }, () => ['constant-current', 'rest']).flat(),
    ]);
  });

  it('is not misled by 30 mA of noise under load and coarse readings', () => {
    const record = recordOf([rest(), load(-10, 30), rest(), load(7.5), rest()], {
      noiseA: 0.03,
      noiseV: 5e-4,
      resolutionV: 1e-3,
      resolutionA: 0.01,
    });
    expect(kindsOf(record)).toEqual(['rest', 'constant-current', 'rest', 'constant-current', 'rest']);
  });

  it('gives a reading taken while the current still rises to the step that follows', () => {
    const record = recordOf([rest(), { ...load(-3), rising: [-1.2] }, rest()]);
    const { steps } = findSteps(record);
    expect(steps.map((step) => step.end - step.start)).toEqual([100, 100, 100]);
    expect(steps[1].currentA).toBeCloseTo(-3, 12);
  });

  it.each([0.5, 2, 5, 10])(
    'gives a reading that passes the level to its step, in rows of %f s',
    (intervalS) => {
      const pulse = { ...load(-2, 10 * intervalS, intervalS), rising: [-2.2] };
      const record = recordOf([rest(40 * intervalS, intervalS), pulse, rest(40 * intervalS, intervalS)]);
      expect(kindsOf(record)).toEqual(['rest', 'constant-current', 'rest']);
    },
  );

  it('keeps a pulse of a single reading, and drops a single reading that the voltage does not answer', () => {
    const short = recordOf([rest(), load(-3, 0.1), rest()]);
    expect(kindsOf(short)).toEqual(['rest', 'constant-current', 'rest']);
    const spike = recordOf([rest(), load(-3, 0.1), rest()]);
    spike.voltageV[100] = 3.7;
    const finding = findSteps(spike);
    expect(finding.steps.map((step) => step.kind)).toEqual(['rest']);
    expect(finding.spikeRows).toEqual([100]);
  });

  it('splits charge from discharge without a rest between them', () => {
    const record = recordOf([rest(), load(4), load(-2, 60, 1), rest()]);
    expect(kindsOf(record)).toEqual(['rest', 'constant-current', 'constant-current', 'rest']);
  });

  it('ends a step at a gap and where the clock restarts', () => {
    const gap = findSteps(recordOf([rest(), { ...rest(), gapBeforeS: 2400 }]));
    expect(gap.steps).toHaveLength(2);
    expect(gap.steps[1].gapBeforeS).toBeCloseTo(2401, 6);
    const one = recordOf([rest(), load(-2), rest()]);
    const twice = {
      timeS: Float64Array.from([...one.timeS, ...one.timeS]),
      voltageV: Float64Array.from([...one.voltageV, ...one.voltageV]),
      currentA: Float64Array.from([...one.currentA, ...one.currentA]),
    };
    const restarted = findSteps(twice);
    expect(restarted.steps.map((step) => step.clockRestarted)).toEqual([
      false,
      false,
      false,
      true,
      false,
      false,
    ]);
    expect(findPulses(twice, restarted)).toHaveLength(2);
  });

  it('does not take 60 s sampling in a long rest for gaps', () => {
    const { steps } = findSteps(recordOf([load(-2), rest(3600, 60), load(-2), rest(3600, 60)]));
    expect(steps.map((step) => step.gapBeforeS)).toEqual([0, 0, 0, 0]);
  });

  it('uses a step column for levels that differ by less than the edges of the current', () => {
    const parts = [rest(), load(-2, 60, 1), load(-2.02, 60, 1), rest()];
    const withSteps = recordOf(parts.map((part, step) => ({ ...part, step })));
    expect(findSteps(recordOf(parts)).steps).toHaveLength(3);
    expect(findSteps(withSteps).steps).toHaveLength(4);
  });

  it('contradicts a step column that stays the same while the current starts', () => {
    const record = recordOf([rest(), load(-2), rest()].map((part) => ({ ...part, step: 7 })));
    const finding = findSteps(record);
    expect(finding.steps.map((step) => step.kind)).toEqual(['rest', 'constant-current', 'rest']);
    expect(finding.contradictedRows).toEqual([100, 200]);
  });

  it('joins two rests that the step column tells apart without a change of current', () => {
    const record = recordOf([
      { ...rest(), step: 1 },
      { ...rest(), step: 2 },
    ]);
    expect(findSteps(record).steps).toHaveLength(1);
  });
});

describe('columnResolution(values)', () => {
  it('finds the step of rounded readings and none in continuous ones', () => {
    const noisy = recordOf([rest(400)], { noiseV: 2e-3 });
    expect(columnResolution(noisy.voltageV)).toBe(0);
    const rounded = recordOf([rest(400)], { noiseV: 2e-3, resolutionV: 6.4e-4 });
    expect(columnResolution(rounded.voltageV)).toBeCloseTo(6.4e-4, 9);
  });
});

describe('printedStep(values)', () => {
  it('is the last digit written, also where no reading moves', () => {
    expect(printedStep(Float64Array.of(0, 0, -2.43, -2.43, 0))).toBeCloseTo(0.01, 12);
    expect(printedStep(Float64Array.of(3.7123, 3.71, 3.7))).toBeCloseTo(1e-4, 12);
  });

  it('is at most half a percent of the largest reading, because trailing zeros are not in a number', () => {
    expect(printedStep(Float64Array.of(0, -2.5, -2.5))).toBeCloseTo(0.01, 12);
    expect(printedStep(Float64Array.of(0, -60, -60))).toBeCloseTo(0.2, 12);
  });

  it('is 0 for readings of full precision and for no reading', () => {
    expect(printedStep(Float64Array.of(Math.PI, Math.E))).toBe(0);
    expect(printedStep(Float64Array.of(0, 0))).toBe(0);
  });
});
