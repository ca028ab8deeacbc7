import { describe, expect, it } from 'vitest';
import { awayFromLot, pairDrift } from '../../../fitting/ageing/drift.ts';
import { growthAgainstLoss } from '../../../fitting/ageing/growthAgainstLoss.ts';
import { throughputAtCycles } from '../../../fitting/ageing/lifeAxis.ts';
import {
  arrheniusTerm,
  lifeFactor,
  powerMeanRateC,
  stressRegression,
} from '../../../fitting/ageing/stressRegression.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { wangThroughputAh } from '../../support/ageing/publishedLaws.ts';
import { lossByVirtualAge } from '../../support/ageing/virtualAge.ts';

describe('stressRegression', () => {
  it('finds the activation energy behind the lives of a published law', () => {
    // Wang et al. 2011: ln life = const + (31700 − 370.3·C)/(0.55 R T) at one rate.
    const cells = [15, 25, 35, 45, 55, 60].map((temperatureC) => ({
      cell: `${temperatureC}`,
      life: wangThroughputAh({ rateC: 2, temperatureK: temperatureC + 273.15 }, 20),
      terms: [arrheniusTerm(temperatureC)],
    }));
    const found = stressRegression(cells, ['1/(R T)']);
    const expected = ((31700 - 370.3 * 2) / 0.55) * (8.314462618 / 8.314);
    expect(found.terms[0].coefficient).toBeCloseTo(expected, 3);
    expect(found.explainedVarianceLeftOut).toBeCloseTo(1, 9);
  });

  const noisy = (slope: number, sd: number) => {
    const normal = normalSource(seededRandom(8));
    return Array.from({ length: 24 }, (_, k) => {
      const rate = 2 + (k % 8) * 0.5;
      return { cell: `c${k}`, life: Math.exp(7 + slope * rate + sd * normal()), terms: [rate] };
    });
  };

  it('says what a rate costs in life, with an interval and its range', () => {
    const found = stressRegression(noisy(-0.3, 0.1), ['rate']);
    const factor = lifeFactor(found, [3], [5]);
    expect(factor.reason).toBeNull();
    expect(factor.low ?? 1).toBeLessThan(Math.exp(-0.6));
    expect(factor.high ?? 0).toBeGreaterThan(Math.exp(-0.6));
    expect(lifeFactor(found, [3], [8])).toMatchObject({ factor: null, reason: 'outside-range' });
    expect(found.terms[0]).toMatchObject({ validFrom: 2, validTo: 5.5 });
  });

  it('explains next to nothing where there is nothing to explain', () => {
    expect(stressRegression(noisy(0, 0.2), ['rate']).explainedVarianceLeftOut ?? 1).toBeLessThan(0.2);
  });

  it('gives reasons instead of numbers, and names a cell that cannot be', () => {
    expect(stressRegression(noisy(-0.3, 0.1).slice(0, 3), ['rate']).reason).toBe('too-few-cells');
    const same = noisy(-0.3, 0.1).map((cell) => ({ ...cell, terms: [2] }));
    const flat = stressRegression(same, ['rate']);
    expect(flat.reason).toBe('no-variation');
    expect(lifeFactor(flat, [2], [2]).reason).toBe('no-regression');
    expect(() => stressRegression([{ cell: 'x', life: 0, terms: [1] }], ['rate'])).toThrow(
      /life of cell x must be positive/,
    );
  });
});

describe('powerMeanRateC', () => {
  it('weighs fast stages more than a mean does', () => {
    const stages = [
      { rateC: 2, untilSoc: 0.4 },
      { rateC: 6, untilSoc: 0.8 },
    ];
    expect(powerMeanRateC(stages, 1)).toBeCloseTo(4, 12);
    expect(powerMeanRateC(stages)).toBeCloseTo(((8 + 216) / 2) ** (1 / 3), 12);
    expect(powerMeanRateC([{ rateC: 4.8, untilSoc: 0.8 }])).toBeCloseTo(4.8, 12);
    expect(() => powerMeanRateC([])).toThrow(/stages must cover some state of charge/);
  });
});

describe('lossByVirtualAge', () => {
  it('refuses a negative factor, duration or exponent by name', () => {
    expect(() => lossByVirtualAge([{ factor: -1, duration: 1 }], 0.5)).toThrow(
      /segments\[0\].factor must not be negative/,
    );
    expect(() => lossByVirtualAge([{ factor: 1, duration: -1 }], 0.5)).toThrow(
      /segments\[0\].duration must not be negative/,
    );
    expect(() => lossByVirtualAge([], 0)).toThrow(/exponent must be positive/);
  });
});

describe('throughputAtCycles', () => {
  it('sums what went in and out, bridging cycles without a capacity', () => {
    const cycles = Float64Array.of(1, 2, 3, 10);
    // 2 Ah throughout: 4 Ah a cycle, the cycles before the first measurement included.
    expect(Array.from(throughputAtCycles(cycles, Float64Array.of(2, 2, Number.NaN, 2)))).toEqual([
      4, 8, 12, 40,
    ]);
    // Falling by 0.1 Ah a cycle: 2 ∫ (2 − 0.1 (n − 1)) dn from 1 to 3 is 4·2 − 0.1·(3 − 1)² = 7.6, after 4 for the first.
    const falling = throughputAtCycles(Float64Array.of(1, 3), Float64Array.of(2, 1.8));
    expect(falling[1]).toBeCloseTo(11.6, 12);
    expect(Array.from(throughputAtCycles(cycles, new Float64Array(4)))).toEqual(
      new Array(4).fill(Number.NaN),
    );
    expect(() => throughputAtCycles(cycles, new Float64Array(3))).toThrow(
      /capacityAh holds 3 values and cycles 4/,
    );
  });
});

describe('growth and drift', () => {
  const x = Float64Array.from({ length: 60 }, (_, i) => 10 * i);

  it('give the slope of resistance growth against capacity loss', () => {
    const normal = normalSource(seededRandom(2));
    const loss = x.map((at) => 3e-4 * at);
    const found = growthAgainstLoss(
      loss,
      loss.map((value) => 1.4 * value + 1e-3 * normal()),
    );
    expect(Math.abs((found.slope ?? 0) - 1.4)).toBeLessThan(4 * (found.standardError ?? 0));
    expect(found.correlation ?? 0).toBeGreaterThan(0.99);
    expect(growthAgainstLoss(loss.subarray(0, 3), loss.subarray(0, 3)).reason).toBe('too-few-points');
  });

  it('flag the cell that ages away from its lot, and no other', () => {
    const normal = normalSource(seededRandom(3));
    const lot = Array.from({ length: 9 }, (_, k) => {
      const rate = (k === 4 ? 6e-4 : 3e-4) + 5e-6 * normal();
      return { x, y: x.map((at) => rate * at) };
    });
    expect(awayFromLot(lot).map(({ odd }) => odd)).toEqual(lot.map((_, k) => k === 4));
    expect(awayFromLot(lot)[4].score).toBeGreaterThan(3.5);
    expect(awayFromLot(lot.slice(0, 4)).some(({ odd }) => odd)).toBe(false);
  });

  it('date the departure of a pair from its tolerance', () => {
    const first = { x, y: x.map(() => 1) };
    const second = { x, y: x.map((at) => 1 - 1e-4 * at) };
    // |a − b| / mean passes 2 % where 1e-4·x = 0.02·(1 − 0.5e-4·x): just above x = 198.
    expect(pairDrift(first, second, 0.02).leavesAt).toBe(200);
    expect(pairDrift(first, second, 0.5)).toMatchObject({ leavesAt: null });
    expect(() => pairDrift(first, second, 0)).toThrow(/tolerance must be positive/);
  });
});
