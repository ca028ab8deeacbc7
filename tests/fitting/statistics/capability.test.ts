import { describe, expect, it } from 'vitest';
import { capability } from '../../../fitting/statistics/capability.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** Share of samples whose interval holds the Cpk of the whole population, with limits `k` standard deviations off. */
function heldShare(draw: (normal: () => number) => number, count: number, k: number): number {
  const all = normalSource(seededRandom(9));
  const population = Array.from({ length: 40_000 }, () => draw(all));
  const mean = population.reduce((sum, value) => sum + value, 0) / population.length;
  const deviation = Math.sqrt(
    population.reduce((sum, value) => sum + (value - mean) ** 2, 0) / population.length,
  );
  const tries = 300;
  let held = 0;
  for (let seed = 1; seed <= tries; seed++) {
    const normal = normalSource(seededRandom(seed));
    const values = Array.from({ length: count }, () => draw(normal));
    const { cpkInterval } = capability(values, {
      lower: mean - k * deviation,
      upper: mean + 1.3 * k * deviation,
    });
    if (cpkInterval !== null && cpkInterval[0] <= k / 3 && k / 3 <= cpkInterval[1]) held++;
  }
  return held / tries;
}

describe('the interval of Cpk', () => {
  it.each([16, 48, 200])('holds it in 92 to 98 of 100 normal lots of %s cells', (count) => {
    const share = heldShare((normal) => 2.5 + 0.02 * normal(), count, 4);
    expect(share).toBeGreaterThan(0.915);
    expect(share).toBeLessThan(0.99);
  });

  it('holds it in most lots that are skewed or have long tails, by their own moments', () => {
    expect(heldShare((normal) => Math.exp(0.4 * normal()), 200, 4)).toBeGreaterThan(0.88);
    expect(heldShare((normal) => -Math.exp(0.7 * normal()), 200, 4)).toBeGreaterThan(0.83);
  });

  it('is that of Bissell for values without skewness and long tails', () => {
    // Two values as far on one side as on the other: kurtosis −2.
    const values = Array.from({ length: 40 }, (_, i) => (i % 2 === 0 ? 1 : -1));
    const { cpk, cpkInterval, count } = capability(values, { lower: -4, upper: 4 });
    const half = 1.959964 * Math.sqrt(1 / (9 * count) + (cpk as number) ** 2 / (2 * (count - 1)));
    expect(cpkInterval?.[0]).toBeCloseTo((cpk as number) - half, 5);
    expect(cpkInterval?.[1]).toBeCloseTo((cpk as number) + half, 5);
  });
});
