import { describe, expect, it } from 'vitest';
import { findPulses } from '../../../fitting/records/pulses.ts';
import type { RecordColumns } from '../../../fitting/records/record.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { type MadeWith, type Part, recordOf } from './recordOf.ts';

const rest = (seconds = 600, intervalS = 0.5): Part => ({ seconds, currentA: 0, intervalS });
const pulse = (currentA = -2.5): Part => ({ seconds: 10, currentA, intervalS: 0.1 });

/** A record whose current column is read with an offset and with noise in rest and under load alike. */
function readWith(
  parts: readonly Part[],
  error: (row: number) => number,
  made: MadeWith = {},
): RecordColumns {
  const record = recordOf(parts, { noiseV: 2e-4, ...made });
  return { ...record, currentA: record.currentA.map((current, row) => current + error(row)) };
}

const kindsOf = (record: RecordColumns): string[] => findSteps(record).steps.map((step) => step.kind);
const oneTest = ['rest', 'constant-current', 'rest'];

describe('rests of a current channel that is off or noisy', () => {
  it.each([-0.045, -0.01, 0.01, 0.03, 0.045])('finds the rest under an offset of %f A', (offset) => {
    const record = readWith([rest(), pulse(), rest()], () => offset);
    const finding = findSteps(record);
    expect(finding.steps.map((step) => step.kind)).toEqual(oneTest);
    expect(finding.scale.restOffsetA).toBeCloseTo(offset, 9);
    expect(finding.voltageNoiseV).toBeGreaterThan(1.5e-4);
    const [found] = findPulses(record, finding);
    expect(found.currentA - found.baseCurrentA).toBeCloseTo(-2.5, 9);
  });

  it.each([1, 2, 3, 4, 5])('finds one pulse in a current with 15 mA rms of noise (seed %i)', (seed) => {
    const normal = normalSource(seededRandom(seed));
    const record = readWith([rest(1800), pulse(), rest(1800)], () => 0.015 * normal(), { seed });
    expect(findPulses(record, findSteps(record))).toHaveLength(1);
    expect(kindsOf(record)).toEqual(oneTest);
  });

  it('finds the steps of a long noisy load, and none that the noise alone would make', () => {
    const normal = normalSource(seededRandom(3));
    const parts = [
      rest(600, 1),
      { seconds: 7200, currentA: -1, intervalS: 0.2 },
      { seconds: 3600, currentA: -1.2, intervalS: 0.2 },
      rest(600, 1),
    ];
    const record = readWith(parts, () => 0.015 * normal());
    expect(kindsOf(record)).toEqual(['rest', 'constant-current', 'constant-current', 'rest']);
  });

  const noises: [string, (random: () => number, normal: () => number) => (row: number) => number][] = [
    ['uniform within 5 mA', (random) => () => 0.01 * (random() - 0.5)],
    ['normal of 3 mA rms', (_, normal) => () => 0.003 * normal()],
    ['three levels of 4 mA', (random) => () => 0.004 * (Math.floor(3 * random()) - 1)],
    ['4 mA now and then', (random) => () => (random() < 0.1 ? (random() < 0.5 ? 0.004 : -0.004) : 0)],
    [
      '5 mA that come and go for minutes',
      (random) => {
        let level = 0;
        return () => {
          if (random() < 0.02) level = 0.005 * (Math.floor(3 * random()) - 1);
          return level;
        };
      },
    ],
  ];

  it.each(noises)('takes a rest of 1.5 h with noise for a rest: %s', (_, make) => {
    for (let seed = 1; seed <= 5; seed++) {
      const random = seededRandom(seed);
      const record = readWith([rest(5400, 10)], make(random, normalSource(random)), { seed });
      const finding = findSteps(record);
      expect(finding.steps.map((step) => step.kind)).toEqual(['rest']);
      expect(findPulses(record, finding)).toHaveLength(0);
    }
  });

  it.each(noises)('does not make pulses of the noise in the rests of a C/10 test: %s', (_, make) => {
    const random = seededRandom(7);
    const parts = [rest(1800, 1), pulse(-0.3), rest(1800, 1), pulse(0.3), rest(3600, 10)];
    const record = readWith(parts, make(random, normalSource(random)), { ohm: 0.1 });
    expect(findPulses(record, findSteps(record)).map((found) => found.direction)).toEqual([
      'discharge',
      'charge',
    ]);
  });

  it('keeps small currents that the voltage follows', () => {
    const parts = [rest(), pulse(-10), rest(), { seconds: 3600, currentA: -0.1, intervalS: 10 }, rest()];
    const record = readWith(parts, () => 0.002);
    expect(kindsOf(record)).toEqual([...oneTest, 'constant-current', 'rest']);
  });
});
