import { describe, expect, it } from 'vitest';
import { fitLeastSquares } from '../../../../fitting/least-squares/general/fit.ts';
import { aicc } from '../../../../fitting/least-squares/inference/modelChoice.ts';
import { durbinWatson, runsTest } from '../../../../fitting/least-squares/inference/residualTests.ts';
import type { FitProblem } from '../../../../fitting/least-squares/types.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';
import { profileInterval, studentInterval } from '../../../support/intervals.ts';

const x = Float64Array.from({ length: 25 }, (_, i) => i * 0.4);

function problem(seed: number, bound?: number): FitProblem {
  const normal = normalSource(seededRandom(seed));
  return {
    y: x.map((t) => 2 * Math.exp(-0.5 * t) + 0.05 * normal()),
    parameters: [
      { name: 'a', unit: '1', start: 1 },
      { name: 'k', unit: '1', start: 1, max: bound },
    ],
    model: {
      evaluate(b, out) {
        x.forEach((t, i) => {
          out[i] = b[0] * Math.exp(-b[1] * t);
        });
      },
    },
  };
}

/** A straight line, where profile, Wald and bootstrap must agree with theory. */
function straight(seed: number): FitProblem {
  const normal = normalSource(seededRandom(seed));
  return {
    y: x.map((t) => 1 + 0.3 * t + 0.1 * normal()),
    parameters: [
      { name: 'a', unit: '1', start: 0 },
      { name: 'b', unit: '1', start: 0 },
    ],
    model: {
      evaluate(b, out) {
        x.forEach((t, i) => {
          out[i] = b[0] + b[1] * t;
        });
      },
    },
  };
}

describe('intervals', () => {
  it('profile and Wald agree for a model linear in its parameters', () => {
    const data = straight(1);
    const result = fitLeastSquares(data);
    for (const name of ['a', 'b']) {
      const wald = studentInterval(result, name, 0.9);
      const profile = profileInterval(data, result, name, 0.9);
      expect(profile.low).toBeCloseTo(wald.low as number, 7);
      expect(profile.high).toBeCloseTo(wald.high as number, 7);
    }
  });

  it('a bound inside the region leaves that side open at the bound', () => {
    const free = fitLeastSquares(problem(2));
    const estimate = free.parameters[1].value;
    const data = problem(2, estimate + 0.2 * (free.parameters[1].standardError as number));
    const profile = profileInterval(
      data,
      fitLeastSquares({ ...data, parameters: data.parameters.map((p) => ({ ...p, start: 0.4 })) }),
      'k',
    );
    expect(profile).toMatchObject({ high: null, highReason: 'open-at-bound', lowReason: null });
    expect(profile.low).toBeLessThan(estimate);
  });

  it('hold the truth about as often as they say, Wald (95 %, 300 data sets) and profile (80 of them)', () => {
    let [wald, profile] = [0, 0];
    for (let seed = 1; seed <= 300; seed++) {
      const data = problem(seed);
      const result = fitLeastSquares(data, { engine: 'trust-region' });
      const inside = (i: { low: number | null; high: number | null }): boolean =>
        i.low !== null && i.high !== null && i.low <= 0.5 && i.high >= 0.5;
      if (inside(studentInterval(result, 'k'))) wald++;
      if (seed <= 80 && inside(profileInterval(data, result, 'k'))) profile++;
    }
    expect(wald / 300).toBeGreaterThan(0.91);
    expect(wald / 300).toBeLessThan(0.985);
    expect(profile / 80).toBeGreaterThan(0.9);
  });

  it('have no ends without an optimum', () => {
    const data = problem(3);
    const result = fitLeastSquares(data, { maxIterations: 1, engine: 'trust-region' });
    expect(studentInterval(result, 'k')).toEqual({ low: null, high: null });
    expect(profileInterval(data, result, 'k')).toMatchObject({ high: null, highReason: 'not-converged' });
  });

  it('refuse a level that is none', () => {
    expect(() => studentInterval(fitLeastSquares(problem(1)), 'k', 95)).toThrow(/level/);
  });
});

describe('AICc', () => {
  it('prefers the offset where there is one, and mostly not where there is none', () => {
    const difference = (seed: number, offset: number): number => {
      const base = problem(seed);
      const y = base.y.map((value) => value + offset);
      const larger = fitLeastSquares({
        y,
        parameters: [...base.parameters, { name: 'c', unit: '1', start: 0 }],
        model: {
          evaluate(b, out) {
            base.model.evaluate(b, out);
            for (let i = 0; i < out.length; i++) out[i] += b[2];
          },
        },
      });
      return (aicc(larger).value as number) - (aicc(fitLeastSquares({ ...base, y })).value as number);
    };
    expect(difference(1, 0.2)).toBeLessThan(-10);
    let preferred = 0;
    for (let seed = 1; seed <= 100; seed++) if (difference(seed, 0) < 0) preferred++;
    expect(preferred).toBeLessThanOrEqual(20);
  });

  it('gives a reason instead of a number', () => {
    const fit = { residualSumOfSquares: 1, points: 10, freeParameters: 2 };
    expect(aicc({ ...fit, points: 4 })).toEqual({ value: null, reason: 'too-few-points' });
    expect(aicc({ ...fit, residualSumOfSquares: 0 })).toEqual({ value: null, reason: 'zero-residual' });
    expect(aicc({ ...fit, residualSumOfSquares: null })).toEqual({ value: null, reason: 'no-fit' });
  });
});

describe('tests of residuals', () => {
  it('counts runs and gives their exact probability by enumeration', () => {
    const signs = [1, 1, 1, -1, -1, 1, -1, -1];
    const result = runsTest(signs);
    expect(result).toMatchObject({ runs: 4, positive: 4, negative: 4, expectedRuns: 5, exact: true });
    let few = 0;
    let all = 0;
    for (let code = 0; code < 256; code++) {
      const row = Array.from({ length: 8 }, (_, i) => ((code >> i) & 1 ? 1 : -1));
      if (row.filter((s) => s > 0).length !== 4) continue;
      all++;
      if (row.filter((s, i) => i === 0 || s !== row[i - 1]).length <= 4) few++;
    }
    expect(result.pFewRuns).toBeCloseTo(few / all, 12);
  });

  it('leaves zeros out, and says when there is one sign only', () => {
    expect(runsTest([1, 0, 1, -1]).runs).toBe(2);
    expect(runsTest([1, 2, 3])).toMatchObject({ reason: 'one-sign', z: null, pFewRuns: null });
  });

  it('sees a trend that a curve misses, and nothing in noise', () => {
    const normal = normalSource(seededRandom(3));
    const noise = Array.from({ length: 500 }, normal);
    const trend = noise.map((value, i) => 0.3 * value + Math.sin(i / 30));
    expect(runsTest(noise).pFewRuns).toBeGreaterThan(0.01);
    expect(runsTest(trend).pFewRuns).toBeLessThan(1e-6);
    expect(durbinWatson(noise).statistic).toBeCloseTo(2, 0);
    expect(durbinWatson(trend).pPositive).toBeLessThan(1e-6);
    // By hand: differences −2, 2, −2 over squares 1, 1, 1, 1.
    expect(durbinWatson([1, -1, 1, -1]).statistic).toBe(3);
    expect(durbinWatson([0, 0, 0]).statistic).toBeNull();
  });
});
