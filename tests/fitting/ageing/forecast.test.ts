import { describe, expect, it } from 'vitest';
import { fanOf } from '../../../fitting/ageing/fan.ts';
import { forecastLimit, reachedBy } from '../../../fitting/ageing/forecast.ts';
import { lineCrossing } from '../../../fitting/ageing/lineCrossing.ts';
import { mixtureProbability, mixtureQuantile } from '../../../fitting/ageing/logMixture.ts';
import type { FinishedCell, LotCell } from '../../../fitting/ageing/lotForecast.ts';
import { ageingPoints } from '../../../fitting/ageing/points.ts';
import { profileCrossing } from '../../../fitting/ageing/profileCrossing.ts';
import { runningMedian } from '../../../fitting/ageing/runningMedian.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** A cell that fades slowly and then fast, to 0.8 at `life`. */
function cellOf(name: string, life: number, until: number, seed: number): FinishedCell {
  const normal = normalSource(seededRandom(seed));
  const x = Float64Array.from({ length: until }, (_, i) => i + 1);
  const y = x.map(
    (at) =>
      1 - 0.08 * (at / life) - 0.12 * ((Math.exp((5 * at) / life) - 1) / (Math.exp(5) - 1)) + 3e-4 * normal(),
  );
  return {
    cell: name,
    points: ageingPoints(x, y),
    smooth: runningMedian(y, 7),
    initial: 1,
    threshold: 0.8,
    life,
  };
}

const lineCell = (n: number, slope: number, noise: number, seed = 3): LotCell => {
  const normal = normalSource(seededRandom(seed));
  const x = Float64Array.from({ length: n }, (_, i) => 10 * (i + 1));
  const y = x.map((at) => 1 + slope * at + noise * normal());
  return {
    cell: 'line',
    points: ageingPoints(x, y),
    smooth: runningMedian(y, 7),
    initial: 1,
    threshold: 0.8,
  };
};

describe('forecastLimit', () => {
  it('of a lone cell names itself a model average and holds the truth', () => {
    const forecast = forecastLimit(cellOf('a', 500, 400, 1), [], 'below');
    expect(forecast).toMatchObject({ method: 'model-average', reason: null, level: 0.8, priorCells: [] });
    expect(forecast.low ?? 0).toBeLessThan(500);
    expect(forecast.high ?? 0).toBeGreaterThan(500);
    expect(forecast.ratio).toBeCloseTo((forecast.value ?? 0) / 400, 12);
    expect(forecast.intervals.map(({ level }) => level)).toEqual([0.5, 0.8, 0.95]);
    const widths = forecast.intervals.map(({ low, high }) => (high ?? Infinity) - (low ?? 0));
    expect(widths).toEqual([...widths].sort((a, b) => a - b));
    expect(reachedBy(forecast, forecast.value ?? 0)).toBeCloseTo(0.5, 6);
    expect(reachedBy(forecast, 399)).toBe(0);
  });

  it('does not lean on cells that went another way to the same stage, or at another age', () => {
    const lot = [420, 460, 500, 540, 600, 480, 520].map((life, k) =>
      cellOf(`c${k}`, life, life + 20, 40 + k),
    );
    const straight = forecastLimit(lineCell(35, -4e-4, 3e-4), lot, 'below');
    expect(straight).toMatchObject({ method: 'model-average', priorCells: [] });
    expect(straight.low ?? Infinity).toBeLessThan(500);
    expect(straight.high ?? 0).toBeGreaterThan(500);
    const slower = forecastLimit(cellOf('slower', 2500, 2000, 9), lot, 'below');
    expect(slower).toMatchObject({ method: 'model-average', priorCells: [] });
    expect(forecastLimit(cellOf('like', 510, 400, 9), lot, 'below').method).toBe('lot-prior');
  });

  it('allows for a fade that slows down further than its points show', () => {
    const held = Array.from({ length: 24 }, (_, k) => {
      const normal = normalSource(seededRandom(500 + k));
      const [curvature, life] = [1 + k / 24, 900];
      const x = Float64Array.from({ length: 67 }, (_, i) => 10 * (i + 1));
      const y = x.map(
        (at) => 1 - (0.2 * Math.expm1((-curvature * at) / life)) / Math.expm1(-curvature) + 2e-3 * normal(),
      );
      const cell = { cell: `slow${k}`, points: ageingPoints(x, y), smooth: runningMedian(y, 7) };
      const { low, high } = forecastLimit({ ...cell, initial: 1, threshold: 0.8 }, [], 'below');
      return low !== null && low < life && (high === null || high > life);
    });
    expect(held.filter(Boolean).length).toBeGreaterThanOrEqual(15);
  });

  it('leans on the finished cells of the lot, never on the cell itself', () => {
    const lot = [420, 460, 500, 540, 600, 480, 520].map((life, k) =>
      cellOf(`c${k}`, life, life + 20, 40 + k),
    );
    const young = { ...cellOf('c2', 500, 300, 42), life: Number.NaN };
    const forecast = forecastLimit(young, lot, 'below');
    expect(forecast.method).toBe('lot-prior');
    expect(forecast.priorCells).toEqual(['c0', 'c1', 'c3', 'c4', 'c5', 'c6']);
    expect(Math.abs((forecast.value ?? 0) / 500 - 1)).toBeLessThan(0.03);
    const alone = forecastLimit(young, [], 'below');
    expect((forecast.high ?? 0) - (forecast.low ?? 0)).toBeLessThan((alone.high ?? 0) - (alone.low ?? 0));
  });

  it('is refused beyond the stated ratio, and says so', () => {
    const slow = forecastLimit(lineCell(40, -5e-5, 1e-4), [], 'below');
    expect(slow).toMatchObject({
      value: null,
      low: null,
      high: null,
      reason: 'beyond-stated-ratio',
      refusedBeyondRatio: 4,
    });
    expect(slow.ratio ?? 0).toBeGreaterThan(4);
    expect(
      forecastLimit(lineCell(40, -5e-5, 1e-4), [], 'below', { refusedBeyondRatio: 30 }).value,
    ).not.toBeNull();
  });

  it('says that a series which does not fade never crosses', () => {
    const forecast = forecastLimit(lineCell(40, 5e-5, 1e-5), [], 'below');
    expect(forecast).toMatchObject({ value: null, reason: 'never-crosses' });
  });

  it('has a reason for too few points, and refuses options that cannot be', () => {
    expect(forecastLimit(lineCell(2, -1e-3, 0), [], 'below').reason).toBe('too-few-points');
    expect(() => forecastLimit(lineCell(9, -1e-3, 0), [], 'below', { level: 1 })).toThrow(
      /level must lie between 0 and 1/,
    );
    expect(() => forecastLimit(lineCell(9, -1e-3, 0), [], 'below', { refusedBeyondRatio: 1 })).toThrow(
      /must be above 1/,
    );
  });

  it('of a few check-ups allows for more than a straight line does, a bend among it', () => {
    for (const n of [3, 5, 7]) {
      const cell = lineCell(n, -2e-3, 1e-3);
      const forecast = forecastLimit(cell, [], 'below');
      const line = lineCrossing(cell.points, 0.8, 'below', 0.8);
      expect(forecast.method).toBe('model-average');
      expect(forecast.low ?? Infinity).toBeLessThan(line.low ?? 0);
      expect(forecast.low ?? 0).toBeGreaterThanOrEqual(10 * n);
      expect(forecast.high ?? 0).toBeGreaterThan(100);
      expect(forecast.bendAhead ?? 0).toBeGreaterThan(0.1);
    }
  });
});

describe('lineCrossing', () => {
  it('covers the true crossing in 80 % of cases', () => {
    let inside = 0;
    for (let seed = 0; seed < 300; seed++) {
      const { low, high } = lineCrossing(lineCell(12, -1e-3, 4e-3, seed).points, 0.8, 'below', 0.8);
      if ((low ?? -Infinity) <= 200 && 200 <= (high ?? Infinity)) inside++;
    }
    expect(inside / 300).toBeGreaterThan(0.74);
    expect(inside / 300).toBeLessThan(0.87);
  });

  it('reports a region that does not close as open', () => {
    const x = Float64Array.of(1, 2, 3, 4);
    const flat = ageingPoints(x, Float64Array.of(1, 1.02, 0.97, 0.99));
    expect(lineCrossing(flat, 0.8, 'below', 0.95)).toMatchObject({ reason: 'interval-open', high: null });
  });
});

describe('profileCrossing', () => {
  const x = Float64Array.from({ length: 60 }, (_, i) => 5 * (i + 1));
  const noisy = (curve: (at: number) => number, seed: number) => {
    const normal = normalSource(seededRandom(seed));
    return ageingPoints(
      x,
      x.map((at) => curve(at) + 2e-3 * normal()),
    );
  };

  it('is the region of Fieller for a straight line', () => {
    const points = noisy((at) => 1 - 4e-4 * at, 1);
    const profile = profileCrossing(points, 'linear', 0.8, 'below', 0.8);
    const fieller = lineCrossing(points, 0.8, 'below', 0.8);
    expect((profile.low ?? 0) / (fieller.low ?? 1)).toBeCloseTo(1, 6);
    expect((profile.high ?? 0) / (fieller.high ?? 1)).toBeCloseTo(1, 6);
  });

  it('covers the true crossing of a power law in about 80 % of cases', () => {
    const truth = (0.2 / 2e-4) ** (1 / 1.1);
    let inside = 0;
    for (let seed = 0; seed < 60; seed++) {
      const points = noisy((at) => 1 - 2e-4 * at ** 1.1, seed);
      const { low, high } = profileCrossing(points, 'power', 0.8, 'below', 0.8);
      if ((low ?? 0) <= truth && truth <= (high ?? Infinity)) inside++;
    }
    expect(inside / 60).toBeGreaterThan(0.65);
    expect(inside / 60).toBeLessThan(0.93);
  });

  it('has reasons where there is no crossing, no end or too few points', () => {
    const rising = noisy((at) => 1 + 1e-4 * at, 2);
    expect(profileCrossing(rising, 'linear', 0.8, 'below', 0.8).reason).toBe('never-crosses');
    const flat = noisy((at) => 1 - 2e-5 * at, 3);
    expect(profileCrossing(flat, 'linear', 0.9, 'below', 0.999)).toMatchObject({
      high: null,
      reason: 'interval-open',
    });
    const few = ageingPoints(x.subarray(0, 4), x.subarray(0, 4));
    expect(profileCrossing(few, 'power', 0.8, 'below', 0.8).reason).toBe('too-few-points');
  });
});

describe('fanOf', () => {
  it('meets the limit at the quantiles of the forecast', () => {
    const cell = cellOf('a', 500, 400, 1);
    const forecast = forecastLimit(cell, [], 'below');
    const level = cell.smooth[cell.smooth.length - 1];
    const fan = fanOf(forecast, 0.8, 'below', level, 3e-4);
    const middle = fan?.quantiles.find(({ probability }) => probability === 0.5);
    const x = fan?.x ?? [];
    const k = x.findIndex((at) => at >= (forecast.value ?? 0));
    expect(fan?.extrapolatedFrom).toBe(400);
    expect(middle?.y[0]).toBeCloseTo(level, 3);
    expect(middle?.y[k - 1] ?? 0).toBeGreaterThan(0.8);
    expect(middle?.y[k] ?? 1).toBeLessThan(0.8005);
    // Quantiles do not cross.
    for (let i = 0; i < x.length; i++) {
      const column = fan?.quantiles.map(({ y }) => y[i]) ?? [];
      expect(column).toEqual([...column].sort((a, b) => a - b));
    }
  });

  it('is nothing without a forecast', () => {
    const refused = forecastLimit(lineCell(40, -5e-5, 1e-4), [], 'below');
    expect(fanOf(refused, 0.8, 'below', 1, 1e-4)).toBeNull();
  });
});

describe('a mixture over ln x', () => {
  it('has quantiles that invert its probability, and none where it is never reached', () => {
    const parts = [
      { weight: 1, mean: 0.2, sd: 0.05 },
      { weight: 2, mean: 0.5, sd: 0.1 },
      { weight: 1, mean: Infinity, sd: 0 },
    ];
    for (const p of [0.05, 0.3, 0.6])
      expect(mixtureProbability(parts, mixtureQuantile(parts, p))).toBeCloseTo(p, 9);
    expect(mixtureQuantile(parts, 0.8)).toBe(Infinity);
  });
});
