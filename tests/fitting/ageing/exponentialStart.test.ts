import { describe, expect, it } from 'vitest';
import { fitExponentialLinear } from '../../../fitting/ageing/exponentialLaw.ts';
import { exponentialStarts } from '../../../fitting/ageing/exponentialStart.ts';
import { generalSums, uniformSums } from '../../../fitting/ageing/exponentialSums.ts';
import { type AgeingPoints, ageingPoints } from '../../../fitting/ageing/points.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** n consecutive cycles with an exponential of `rate` per range on top of a slope. */
function series(n: number, rate: number, sense: 1 | -1, noise: () => number = () => 0): AgeingPoints {
  const x = Float64Array.from({ length: n }, (_, i) => i + 1);
  const y = x.map((at) => {
    const u = (at - 1) / (n - 1);
    return 1 - 0.1 * u - 0.05 * Math.exp(-rate * (sense > 0 ? u : 1 - u)) + noise();
  });
  return ageingPoints(x, y);
}

describe('the start of the exponential law on equally spaced points', () => {
  // 8 and 47: groups of one; 97: an odd number of groups, one point left off; 1,000: groups of 41.
  it.each([8, 9, 47, 48, 97, 585, 1000])('lies within half a percent of the rate of %i exact points', (n) => {
    for (const sense of [1, -1] as const) {
      for (const rate of [0.5, 2.1, 9, 20]) {
        const starts = exponentialStarts(series(n, rate, sense));
        const start = starts.find((found) => found.sense === sense);
        expect(Math.exp(start?.logRate ?? Number.NaN) / rate, `${sense * rate}`).toBeCloseTo(1, 2);
      }
    }
  });

  it('names one sense where the data tell, and both where noise leaves it open', () => {
    const normal = normalSource(seededRandom(3));
    expect(exponentialStarts(series(400, 9, -1, () => 1e-3 * normal())).map((s) => s.sense)).toEqual([-1]);
    expect(exponentialStarts(series(400, 9, 1, normal)).map((s) => s.sense)).toEqual([1, -1]);
  });

  it('leads to the least sum of squares of sixteen other starts, with noise of a tenth of the curve', () => {
    const random = seededRandom(5);
    const normal = normalSource(random);
    for (let s = 0; s < 60; s++) {
      const n = 40 + Math.floor(random() * 300);
      const points = series(n, 2.5 + 15 * random(), s % 2 === 0 ? 1 : -1, () => 5e-3 * normal());
      const found = fitExponentialLinear(points).residualSumOfSquares;
      for (const rate of [0.3, 0.7, 1.5, 3, 6, 12, 25, 50]) {
        for (const scale of [(n - 1) / rate, -(n - 1) / rate]) {
          const other = fitExponentialLinear(points, scale).residualSumOfSquares;
          expect(found, `series ${s} from ${scale}`).toBeLessThanOrEqual(other * (1 + 1e-6));
        }
      }
    }
  });

  it('has a fit also where the values do not vary', () => {
    const x = Float64Array.from({ length: 60 }, (_, i) => i);
    const law = fitExponentialLinear(ageingPoints(x, new Float64Array(60).fill(0.9)));
    expect(law.value(30)).toBeCloseTo(0.9, 12);
  });
});

describe('the sums on equally spaced points', () => {
  it.each([
    [12, 1, 0.2],
    [13, -1, 0.2],
    [250, 1, 7],
    [251, 1, 55],
    [250, -1, 7],
    [251, -1, 55],
  ] as const)('are those formed term by term (%i points, sense %i, rate %d)', (n, sense, k) => {
    const { x, y, offsetY } = series(n, 3, 1);
    const range = x[n - 1] - x[0];
    const quick = new Float64Array(8);
    const plain = new Float64Array(8);
    uniformSums(y, offsetY, sense, 1 / range, k, quick);
    generalSums(x, y, null, offsetY, sense > 0 ? x[0] : x[n - 1], sense / range, k, plain);
    quick.forEach((sum, i) => {
      expect(Math.abs(sum - plain[i]), `sum ${i}`).toBeLessThan(1e-12 * n);
    });
  });
});
