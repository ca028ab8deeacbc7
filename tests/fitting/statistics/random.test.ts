import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

describe('seededRandom', () => {
  it('repeats with the seed and differs with another', () => {
    const draw = (seed: number): number[] => Array.from({ length: 50 }, seededRandom(seed));
    expect(draw(1)).toEqual(draw(1));
    expect(draw(1)).not.toEqual(draw(2));
    expect(draw(0).every((u) => u >= 0 && u < 1)).toBe(true);
  });

  it('is uniform: 100,000 draws in 20 bins, and neighbours are independent', () => {
    const random = seededRandom(42);
    const counts = new Array<number>(20).fill(0);
    let [last, product] = [random(), 0];
    const n = 100_000;
    for (let i = 0; i < n; i++) {
      const u = random();
      counts[Math.floor(20 * u)]++;
      product += ((u - 0.5) * (last - 0.5)) / n;
      last = u;
    }
    const chiSquare = counts.reduce((sum, count) => sum + (count - n / 20) ** 2 / (n / 20), 0);
    // 0.1 % point of χ² on 19 degrees of freedom.
    expect(chiSquare).toBeLessThan(43.8);
    expect(Math.abs(product)).toBeLessThan((4 / 12) * Math.sqrt(1 / n));
  });

  it('refuses a seed that is not finite', () => {
    expect(() => seededRandom(Number.NaN)).toThrow(/seed/);
  });
});

describe('normalSource', () => {
  it('has the moments of a standard normal', () => {
    const normal = normalSource(seededRandom(7));
    const n = 100_000;
    const moments = [0, 0, 0, 0];
    for (let i = 0; i < n; i++) {
      const z = normal();
      for (let k = 0; k < 4; k++) moments[k] += z ** (k + 1) / n;
    }
    expect(Math.abs(moments[0])).toBeLessThan(0.013);
    expect(Math.abs(moments[1] - 1)).toBeLessThan(0.018);
    expect(Math.abs(moments[2])).toBeLessThan(0.05);
    expect(Math.abs(moments[3] - 3)).toBeLessThan(0.13);
  });
});
