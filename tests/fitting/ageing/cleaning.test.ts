import { describe, expect, it } from 'vitest';
import { benchRestarts } from '../../../fitting/ageing/benchRestarts.ts';
import { cleanSeries, endOfInitialRise } from '../../../fitting/ageing/cleanSeries.ts';
import { limitCrossing } from '../../../fitting/ageing/limitCrossing.ts';
import { averageRepeats, carriedOver, prepareSeries } from '../../../fitting/ageing/prepareSeries.ts';
import { runningMedian } from '../../../fitting/ageing/runningMedian.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const cycles = (n: number): Float64Array => Float64Array.from({ length: n }, (_, i) => i + 1);
const fading = (n: number, seed: number): Float64Array => {
  const normal = normalSource(seededRandom(seed));
  return cycles(n).map((at) => 1 - 2e-4 * at + 2e-4 * normal());
};

describe('cleanSeries', () => {
  it('lists what it leaves out, each with its reason, and keeps the rest', () => {
    const y = fading(200, 1);
    y[10] = 0;
    y[20] = Number.NaN;
    y[30] = 1.3;
    y[40] = 0.1;
    y[50] -= 0.05;
    y[60] += 0.02;
    const clean = cleanSeries(cycles(200), y, 'capacity', { rated: 1 });
    expect(clean.leftOut).toEqual([
      { index: 10, reason: 'zero' },
      { index: 20, reason: 'missing' },
      { index: 30, reason: 'above-plausible-limit' },
      { index: 40, reason: 'below-plausible-limit' },
      { index: 50, reason: 'spike' },
      { index: 60, reason: 'recovery' },
    ]);
    expect(clean.x).toHaveLength(194);
    expect(clean.noise).toBeGreaterThan(1e-4);
    expect(clean.noise).toBeLessThan(3e-4);
  });

  it('leaves nothing out of a clean series, a steep end included', () => {
    const y = cycles(300).map((at) => 1 - 1e-4 * at - (at > 250 ? 2e-3 * (at - 250) : 0));
    expect(cleanSeries(cycles(300), y, 'capacity').leftOut).toEqual([]);
  });

  it('takes a fall of resistance for the recovery and a rise for the spike', () => {
    const y = cycles(100).map((at) => 0.02 + 1e-6 * at);
    y[40] = 0.015;
    y[60] = 0.03;
    const reasons = cleanSeries(cycles(100), y, 'resistance').leftOut.map(({ reason }) => reason);
    expect(reasons).toEqual(['recovery', 'spike']);
  });

  it('refuses ages that do not rise', () => {
    expect(() => cleanSeries(Float64Array.of(1, 1), Float64Array.of(1, 1), 'capacity')).toThrow(
      /x\[1\] = 1 does not lie above/,
    );
  });
});

describe('endOfInitialRise', () => {
  it('finds the best value near the start, and 0 where there is no rise', () => {
    const rising = cycles(300).map((at) => 1 - 1e-4 * at - 0.02 * Math.exp(-at / 10));
    const found = endOfInitialRise(cleanSeries(cycles(300), rising, 'capacity'), 'capacity');
    expect(found).toBeGreaterThan(15);
    expect(found).toBeLessThan(60);
    expect(endOfInitialRise(cleanSeries(cycles(200), fading(200, 2), 'capacity'), 'capacity')).toBe(0);
  });
});

describe('a restart of the whole bench', () => {
  const cells = Array.from({ length: 8 }, (_, k) => {
    const y = fading(200, 30 + k);
    for (let i = 99; i < 103; i++) y[i] -= 0.02;
    return y;
  });

  it('is found from many cells and left out of each', () => {
    const restarts = benchRestarts(
      cells.map((y) => ({ x: cycles(200), clean: cleanSeries(cycles(200), y, 'capacity') })),
    );
    expect(restarts).toHaveLength(1);
    expect(Math.abs(restarts[0] - 100)).toBeLessThanOrEqual(6);
    const series = prepareSeries(cycles(200), cells[0], 'capacity', restarts);
    expect(series.leftOut.some(({ reason }) => reason === 'restart')).toBe(true);
    expect(Array.from(series.points?.x ?? []).some((at) => at >= 100 && at <= 103)).toBe(false);
  });

  it('is not seen in what happens to single cells', () => {
    const alone = cells.map((_, k) => {
      const y = fading(200, 60 + k);
      y[20 * k + 15] -= 0.05;
      return { x: cycles(200), clean: cleanSeries(cycles(200), y, 'capacity') };
    });
    expect(benchRestarts(alone)).toEqual([]);
  });
});

describe('limitCrossing', () => {
  const x = cycles(10);

  it('takes the first crossing that stays crossed, not the first dip', () => {
    const y = Float64Array.of(1, 0.7, 1, 1, 0.79, 0.78, 0.81, 0.77, 0.76, 0.7);
    expect(limitCrossing(x, y, 0.8, 'below')).toEqual({ crossedAt: 5, firstDipAt: 2 });
    expect(limitCrossing(x, y, 0.8, 'below', { k: 1, n: 1 }).crossedAt).toBe(2);
  });

  it('needs k points before it believes a crossing at the very end', () => {
    const y = Float64Array.of(1, 1, 1, 1, 1, 1, 1, 0.7, 0.7, 0.7);
    expect(limitCrossing(x, y, 0.8, 'below').crossedAt).toBeNull();
    expect(limitCrossing(x, y, 0.8, 'below', { k: 3, n: 5 }).crossedAt).toBe(8);
  });

  it('lets impossible points take no part, and works upwards', () => {
    const y = Float64Array.of(1, 0, 1, 1, 1, 2.1, 2.2, 2.2, 2.3, 2.3);
    expect(limitCrossing(x, y, 0.5, 'below', undefined, (i) => y[i] > 0).firstDipAt).toBeNull();
    expect(limitCrossing(x, y, 2, 'above').crossedAt).toBe(6);
    expect(() => limitCrossing(x, y, 2, 'above', { k: 3, n: 2 })).toThrow(/1 ≤ k ≤ n/);
  });
});

describe('small helpers', () => {
  it('average repeats of one age and skip what is missing', () => {
    const { x, y } = averageRepeats(Float64Array.of(2, 1, 2, 3), Float64Array.of(4, 1, 6, Number.NaN));
    expect(Array.from(x)).toEqual([1, 2, 3]);
    expect(Array.from(y)).toEqual([1, 5, Number.NaN]);
  });

  it('run the median with a window that shrinks towards the ends', () => {
    expect(Array.from(runningMedian(Float64Array.of(1, 9, 2, 3, 4), 2))).toEqual([1, 2, 3, 3, 4]);
  });

  it('tell a cell that carries on from another campaign', () => {
    expect(carriedOver([1.08, 1.07, 1.075, 1.072, 1.078, 1.01, null], 'capacity')).toEqual([
      false,
      false,
      false,
      false,
      false,
      true,
      false,
    ]);
    expect(carriedOver([1.08, 1.0], 'capacity')).toEqual([false, false]);
  });
});
