import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { mean, standardDeviation } from '../../../fitting/statistics/sample.ts';
import { twoSidedToleranceFactor } from '../../../fitting/statistics/toleranceFactor.ts';
import {
  coverageOfExtremes,
  normalToleranceLimits,
  orderToleranceLimits,
  toleranceRank,
} from '../../../fitting/statistics/toleranceLimits.ts';

const lower = (coverage: number, confidence: number) => ({ side: 'lower', coverage, confidence }) as const;
const both = (coverage: number, confidence: number) => ({ side: 'both', coverage, confidence }) as const;

describe('tolerance limits without a distribution', () => {
  it.each([
    // From 1 − pⁿ ≥ γ and 1 − n pⁿ⁻¹ + (n − 1) pⁿ ≥ γ (Wilks, Ann. Math. Stat. 12 (1941) 91).
    [lower(0.95, 0.95), 59],
    [lower(0.99, 0.95), 299],
    [both(0.95, 0.95), 93],
    [both(0.99, 0.95), 473],
    [both(0.9, 0.9), 38],
  ])('need the least sample that the closed form asks for: %o', (question, least) => {
    const { coverage: p, confidence } = question;
    const held = (n: number): number =>
      question.side === 'lower' ? 1 - p ** n : 1 - n * p ** (n - 1) + (n - 1) * p ** n;
    expect(held(least)).toBeGreaterThanOrEqual(confidence);
    expect(held(least - 1)).toBeLessThan(confidence);
    expect(toleranceRank(least, question)).toBe(1);
    expect(toleranceRank(least - 1, question)).toBe(0);
  });

  it('hold their coverage at least as often as they say, whatever the distribution (exponential, n = 120)', () => {
    const random = seededRandom(21);
    const rounds = 3000;
    let held = 0;
    for (let round = 0; round < rounds; round++) {
      const values = Array.from({ length: 120 }, () => -Math.log(1 - random()));
      const { lower: limit } = orderToleranceLimits(values, lower(0.9, 0.95));
      if (limit !== null && Math.exp(-limit) >= 0.9) held++;
    }
    expect(held / rounds).toBeGreaterThan(0.94);
    expect(held / rounds).toBeLessThan(0.99);
  });

  it('of the extremes alone cover what makes that sample just large enough', () => {
    // Between the extremes of 93 lie 95 % with 95 % confidence, of 473 99 %; beyond the least of 59 95 % (as above).
    expect(coverageOfExtremes(93, { side: 'both', confidence: 0.95 })).toBeCloseTo(0.95, 3);
    expect(coverageOfExtremes(473, { side: 'both', confidence: 0.95 })).toBeCloseTo(0.99, 4);
    expect(coverageOfExtremes(59, { side: 'lower', confidence: 0.95 })).toBeCloseTo(0.95, 3);
    const covered = coverageOfExtremes(48, { side: 'both', confidence: 0.95 });
    expect(toleranceRank(48, both(covered - 1e-9, 0.95))).toBe(1);
    expect(toleranceRank(48, both(covered + 1e-9, 0.95))).toBe(0);
    expect(() => coverageOfExtremes(1, { side: 'both', confidence: 0.95 })).toThrow(/n must be/);
  });

  it('say that a small sample is too small', () => {
    expect(orderToleranceLimits([3, 1, 2], lower(0.99, 0.95))).toMatchObject({
      lower: null,
      upper: null,
      reason: 'too-few-values',
    });
  });
});

describe('tolerance limits of a normal population', () => {
  const values = Array.from({ length: 30 }, normalSource(seededRandom(4)));

  it('are mean ± k·s, and on one side only where one side is asked', () => {
    const k = twoSidedToleranceFactor(30, 0.99, 0.95);
    const limits = normalToleranceLimits(values, both(0.99, 0.95));
    expect(limits.upper).toBeCloseTo(mean(values) + k * standardDeviation(values), 12);
    expect(limits.lower).toBeCloseTo(mean(values) - k * standardDeviation(values), 12);
    const one = normalToleranceLimits(values, lower(0.99, 0.95));
    expect(one.upper).toBeNull();
    expect(one.lower).toBeGreaterThan(limits.lower ?? Number.NaN);
  });

  it('are not stated without spread, and bad questions are named', () => {
    expect(normalToleranceLimits([5, 5, 5], both(0.9, 0.9)).reason).toBe('no-spread');
    expect(() => normalToleranceLimits([5], both(0.9, 0.9))).toThrow(/2/);
    expect(() => toleranceRank(10, both(90, 0.9))).toThrow(/coverage/);
    expect(() => toleranceRank(0, both(0.9, 0.9))).toThrow(/n must be/);
  });
});
