import { describe, expect, it } from 'vitest';
import {
  chiSquareProbability,
  chiSquareQuantile,
  fProbability,
  fQuantile,
  normalProbability,
  normalQuantile,
  tQuantile,
} from '../../../fitting/statistics/distributions.ts';

// Printed tables of the NIST/SEMATECH e-Handbook, 1.3.6.7 (values from memory).
describe('distributions', () => {
  it('give the tabulated quantiles', () => {
    expect(normalQuantile(0.975)).toBeCloseTo(1.96, 3);
    expect(tQuantile(0.975, 10)).toBeCloseTo(2.228, 3);
    expect(tQuantile(0.95, 1)).toBeCloseTo(6.314, 3);
    expect(chiSquareQuantile(0.95, 10)).toBeCloseTo(18.307, 3);
    expect(chiSquareQuantile(0.05, 3)).toBeCloseTo(0.352, 3);
    expect(fQuantile(0.95, 3, 10)).toBeCloseTo(3.708, 3);
  });

  it('probability undoes quantile', () => {
    for (const p of [0.001, 0.05, 0.5, 0.9, 0.9999]) {
      expect(normalProbability(normalQuantile(p))).toBeCloseTo(p, 10);
      expect(chiSquareProbability(chiSquareQuantile(p, 5), 5)).toBeCloseTo(p, 10);
      expect(fProbability(fQuantile(p, 4, 9), 4, 9)).toBeCloseTo(p, 10);
    }
  });

  it('know the limits of the argument and infinite degrees of freedom', () => {
    expect(tQuantile(0.975, Infinity)).toBeCloseTo(normalQuantile(0.975), 12);
    expect(chiSquareProbability(-1, 3)).toBe(0);
    expect(fProbability(0, 3, 4)).toBe(0);
  });

  it('refuse probabilities and degrees of freedom that cannot be', () => {
    expect(() => tQuantile(1.2, 5)).toThrow(/probability must lie in \[0, 1\], got 1.2/);
    expect(() => chiSquareQuantile(0.5, 0)).toThrow(/degrees must be positive/);
    expect(() => fQuantile(0.5, 3, -1)).toThrow(/d2 must be positive/);
  });
});
