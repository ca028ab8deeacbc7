import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { andersonDarling } from '../../../fitting/statistics/andersonDarling.ts';
import { grubbsTest } from '../../../fitting/statistics/grubbs.ts';
import { histogram } from '../../../fitting/statistics/histogram.ts';
import { normalPlot } from '../../../fitting/statistics/normalPlot.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { pooledRepeatability } from '../../../fitting/statistics/repeatability.ts';
import { interquartileRange, madScale, median } from '../../../fitting/statistics/robust.ts';
import { mean, quantileSorted, standardDeviation } from '../../../fitting/statistics/sample.ts';

const sample = fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 3, maxLength: 40 });
const normals = (seed: number, n: number): number[] =>
  Array.from({ length: n }, normalSource(seededRandom(seed)));

describe('mean, standard deviation and quantiles', () => {
  it('keep their digits on a large offset (as NIST StRD NumAcc4: mean 10000000.2, deviation 0.1)', () => {
    const values = [10000000.2, ...Array.from({ length: 500 }, () => [10000000.1, 10000000.3]).flat()];
    expect(mean(values)).toBeCloseTo(10000000.2, 8);
    expect(standardDeviation(values)).toBeCloseTo(0.1, 8);
  });

  it('quantile uses type 7, the default of R and NumPy', () => {
    expect(quantileSorted([1, 2, 3, 4], 0.25)).toBe(1.75);
    expect(quantileSorted([1, 2, 3, 4], 0.5)).toBe(2.5);
    expect(quantileSorted([5], 0.9)).toBe(5);
    expect(interquartileRange([1, 2, 3, 4])).toBe(1.5);
  });

  it('name bad input', () => {
    expect(() => mean([])).toThrow(/holds 0 values/);
    expect(() => standardDeviation([1])).toThrow(/at least 2/);
    expect(() => median([1, Number.NaN])).toThrow(/values\[1\]/);
  });
});

describe('robust location and scale', () => {
  it('follow shift and scale', () => {
    fc.assert(
      fc.property(
        sample,
        fc.double({ min: 0.1, max: 100, noNaN: true }),
        fc.double({ min: -1e3, max: 1e3, noNaN: true }),
        (values, a, b) => {
          const moved = values.map((value) => a * value + b);
          const size = 1e-9 * (1 + Math.max(...moved.map(Math.abs)));
          expect(Math.abs(median(moved) - (a * median(values) + b))).toBeLessThan(size);
          expect(Math.abs(madScale(moved) - a * madScale(values))).toBeLessThan(size);
        },
      ),
    );
  });

  it('agree with the standard deviation on normal data, and barely move for gross outliers', () => {
    const clean = normals(3, 400);
    expect(madScale(clean)).toBeGreaterThan(0.87);
    expect(madScale(clean)).toBeLessThan(1.13);
    const spoiled = [...clean, ...new Array<number>(20).fill(1e6)];
    expect(Math.abs(median(spoiled) - median(clean))).toBeLessThan(0.15);
    expect(madScale(spoiled) / madScale(clean)).toBeLessThan(1.2);
  });

  it('have no scale where most values are equal', () => {
    expect(madScale([2, 2, 2, 2, 9])).toBe(0);
  });
});

describe('Grubbs, repeated', () => {
  it('flags at most 5 % of clean samples at alpha 0.05', () => {
    let flagged = 0;
    for (let seed = 1; seed <= 2000; seed++) if (grubbsTest(normals(seed, 12))[0].isOutlier) flagged++;
    expect(flagged / 2000).toBeGreaterThan(0.035);
    expect(flagged / 2000).toBeLessThan(0.065);
  });

  it('takes out one after the other, the farthest first, and stops', () => {
    const values = [...normals(5, 30), 40, -15];
    const steps = grubbsTest(values);
    expect(steps.map((step) => [step.index, step.isOutlier]).slice(0, 2)).toEqual([
      [30, true],
      [31, true],
    ]);
    expect(steps.at(-1)?.isOutlier).toBe(false);
    expect(grubbsTest(values, { side: 'low' })[0].value).toBe(-15);
    expect(grubbsTest(values, { limit: 1 })).toHaveLength(1);
  });

  it('finds nothing in equal values and refuses two', () => {
    expect(grubbsTest([3, 3, 3])[0]).toMatchObject({ statistic: 0, isOutlier: false });
    expect(() => grubbsTest([1, 2])).toThrow(/at least 3/);
    expect(() => grubbsTest([1, 2, 3], { alpha: 5 })).toThrow(/alpha/);
  });
});

describe('Anderson–Darling', () => {
  it('has p-values uniform enough for normal samples and rejects exponential ones', () => {
    let below = 0;
    for (let seed = 1; seed <= 1000; seed++) {
      if ((andersonDarling(normals(seed, 25)).pValue as number) < 0.1) below++;
    }
    expect(below / 1000).toBeGreaterThan(0.075);
    expect(below / 1000).toBeLessThan(0.125);
    const random = seededRandom(2);
    const skewed = Array.from({ length: 60 }, () => -Math.log(1 - random()));
    expect(andersonDarling(skewed).pValue).toBeLessThan(0.001);
  });

  it('stays finite for a value in the far tail, and says when there is no spread', () => {
    expect(Number.isFinite(andersonDarling([...normals(1, 300), 1e9]).statistic)).toBe(true);
    expect(andersonDarling([1, 1, 1])).toMatchObject({ statistic: null, pValue: null, reason: 'no-spread' });
  });
});

describe('histogram', () => {
  it('counts every value once, in the bin whose edges hold it', () => {
    fc.assert(
      fc.property(sample, (values) => {
        const { edges, counts } = histogram(values);
        expect(counts.reduce((sum, count) => sum + count, 0)).toBe(values.length);
        expect(edges).toHaveLength(counts.length + 1);
        counts.forEach((count, k) => {
          const last = k === counts.length - 1;
          const inside = values.filter(
            (v) => v >= edges[k] && (v < edges[k + 1] || (last && v <= edges[k + 1])),
          );
          expect(inside).toHaveLength(count);
        });
      }),
    );
  });

  it('takes 2·IQR/∛n, rounded up to 1, 2 or 5, as width; one bin for equal values', () => {
    const values = Array.from({ length: 1000 }, (_, i) => i / 999);
    const { edges } = histogram(values);
    // IQR 0.5, ∛1000 = 10: width 0.1.
    edges.slice(0, -1).forEach((edge, k) => {
      expect(edges[k + 1] - edge).toBeCloseTo(0.1, 9);
    });
    expect(histogram([1, 5, 5, 5, 5, 5, 5, 9]).counts.reduce((a, b) => a + b)).toBe(8);
    expect(histogram([2, 2]).counts).toEqual([2]);
  });
});

describe('normalPlot', () => {
  it('gives symmetric scores in the order of the values, and keeps the index', () => {
    const points = normalPlot([5, 1, 3, 2, 4]);
    expect(points.map((point) => point.value)).toEqual([1, 2, 3, 4, 5]);
    expect(points.map((point) => point.index)).toEqual([1, 3, 2, 4, 0]);
    expect(points[2].expected).toBeCloseTo(0, 12);
    expect(points[0].expected).toBeCloseTo(-points[4].expected, 12);
    // 1 − 0.5^(1/5) = 0.129449 is −1.12894 (a table of the normal distribution).
    expect(points[0].expected).toBeCloseTo(-1.129, 3);
  });

  it('is a straight line of slope σ for normal data', () => {
    const points = normalPlot(normals(9, 500).map((value) => 10 + 3 * value));
    const slope = (points[400].value - points[100].value) / (points[400].expected - points[100].expected);
    expect(slope).toBeGreaterThan(2.6);
    expect(slope).toBeLessThan(3.4);
  });
});

describe('pooledRepeatability', () => {
  it('pools groups of different size and level', () => {
    const pooled = pooledRepeatability([[1, 3], [10, 11, 12], [7]]);
    expect(pooled.degreesOfFreedom).toBe(3);
    expect(pooled.standardDeviation).toBeCloseTo(Math.sqrt(4 / 3), 12);
    expect(() => pooledRepeatability([[1], [2]])).toThrow(/two readings/);
  });
});
