import { describe, expect, it } from 'vitest';
import { quantisedLevels } from '../../../fitting/capacity/quantisedLevel.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const STEP = 0.005;

/** Readings of a level through noise and rounding. */
function readings(level: number, noise: number, count: number, normal: () => number): number[] {
  return Array.from({ length: count }, () => Math.round((level + noise * normal()) / STEP) * STEP);
}

describe('quantisedLevels(groups, step)', () => {
  it('covers the level in about 95 of 100 tries, from noise of a tenth of a step to a whole step', () => {
    for (const noise of [0.1, 0.2, 0.35, 1]) {
      let inside = 0;
      for (let seed = 1; seed <= 120; seed++) {
        const random = seededRandom(seed);
        const normal = normalSource(random);
        const level = 2.4 + STEP * random();
        const [rest, load] = quantisedLevels(
          [readings(STEP * random(), noise * STEP, 90, normal), readings(level, noise * STEP, 360, normal)],
          STEP,
        );
        expect(rest.standardUncertainty).toBeGreaterThan(0);
        const half = (load.flat ? 0.95 * Math.sqrt(3) : 1.96) * load.standardUncertainty;
        if (Math.abs(load.level - level) <= half) inside++;
      }
      // 120 tries of 95 %: below 105 in one of a thousand.
      expect(inside, `noise of ${noise} steps`).toBeGreaterThanOrEqual(105);
    }
  });

  it('locates a level by the share of readings on the next step, far better than their mean does', () => {
    const normal = normalSource(seededRandom(3));
    const level = 2.4 + 0.3 * STEP;
    const values = readings(level, 0.2 * STEP, 3600, normal);
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const rest = readings(0.1 * STEP, 0.2 * STEP, 900, normal);
    const found = quantisedLevels([rest, values], STEP)[1];
    expect(Math.abs(mean - level)).toBeGreaterThan(0.1 * STEP);
    expect(Math.abs(found.level - level)).toBeLessThan(0.03 * STEP);
  });

  it('leaves the whole step open where no reading leaves it', () => {
    const [only] = quantisedLevels([Array.from({ length: 500 }, () => 2.43)], 0.01);
    expect(only.flat).toBe(true);
    expect(only.level).toBeCloseTo(2.43, 6);
    expect(Math.sqrt(3) * only.standardUncertainty).toBeCloseTo(0.005, 9);
  });
});
