import { describe, expect, it } from 'vitest';
import { fitExponentialLinear } from '../../../fitting/ageing/exponentialLaw.ts';
import type { LawFit } from '../../../fitting/ageing/lawFit.ts';
import { parameterIntervals } from '../../../fitting/ageing/parameterIntervals.ts';
import { type AgeingPoints, ageingPoints } from '../../../fitting/ageing/points.ts';
import { fitPower } from '../../../fitting/ageing/powerLaw.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { studentInterval } from '../../support/intervals.ts';

const TRIES = 400;

/** Check-ups every 50 cycles. */
function series(seed: number, count: number, truth: (x: number) => number, noise: number): AgeingPoints {
  const normal = normalSource(seededRandom(seed));
  const x = Float64Array.from({ length: count }, (_, k) => 50 * (k + 1));
  return ageingPoints(
    x,
    x.map((at) => truth(at) + noise * normal()),
  );
}

function intervalOf(law: LawFit, points: AgeingPoints, name: string) {
  const found = parameterIntervals(law, points, 0.95).find((one) => one.name === name);
  if (found === undefined) throw new Error(`no interval of ${name}`);
  return found;
}

const holds = ({ low, high }: { low: number | null; high: number | null }, truth: number): boolean =>
  (low ?? -Infinity) <= truth && truth <= (high ?? Infinity);

describe('intervals of the parameters of a fade law', () => {
  it('hold exponent and factor of a power law as often as they say, where few noisy points make the fit far from linear', () => {
    let [exponents, coefficients, plain] = [0, 0, 0];
    const truth = 0.3 / 700 ** 1.4;
    for (let seed = 1; seed <= TRIES; seed++) {
      const points = series(seed, 14, (x) => 2.5 - truth * x ** 1.4, 0.01);
      const law = fitPower(points);
      if (holds(intervalOf(law, points, 'exponent'), 1.4)) exponents++;
      if (holds(intervalOf(law, points, 'coefficient'), -truth)) coefficients++;
      const published = law.parameters.find(({ name }) => name === 'coefficient');
      const half = 2.2 * (published?.standardError ?? 0);
      if (Math.abs((published?.value ?? 0) + truth) <= half) plain++;
    }
    // Four standard deviations of 400 tries of 95 % are 4.4 of 100.
    for (const count of [exponents, coefficients]) {
      expect(count / TRIES).toBeGreaterThan(0.905);
      expect(count / TRIES).toBeLessThan(0.99);
    }
    // A symmetric interval of the factor misses the truth far more often than it says.
    expect(plain / TRIES).toBeLessThan(0.9);
  });

  it('hold the scale of an early loss as often as they say, and are not symmetric', () => {
    let [held, asymmetric] = [0, 0];
    for (let seed = 1; seed <= TRIES; seed++) {
      const points = series(seed, 20, (x) => 2.5 - 1e-4 * x - 0.1 * -Math.expm1(-x / 150), 0.004);
      const law = fitExponentialLinear(points);
      const interval = intervalOf(law, points, 'scale');
      if (holds(interval, 150)) held++;
      const { low, high } = interval;
      const value = law.parameter('scale');
      if (high === null || low === null || high - value > 1.2 * (value - low)) asymmetric++;
    }
    expect(held / TRIES).toBeGreaterThan(0.905);
    expect(held / TRIES).toBeLessThan(0.99);
    expect(asymmetric / TRIES).toBeGreaterThan(0.7);
  });

  it('are those of Student for a parameter in which the law is linear', () => {
    const points = series(3, 20, (x) => 2.5 - 1e-4 * x, 0.004);
    const law = fitPower(points);
    const { low, high, method } = intervalOf(law, points, 'initial');
    const half = ((high ?? 0) - (low ?? 0)) / 2;
    const error = law.parameters[0].standardError ?? 0;
    expect(method).toBe('student');
    const student = studentInterval(law.fit, 'initial');
    const factor =
      ((student.high ?? 0) - (student.low ?? 0)) / 2 / (law.fit.parameters[0].standardError ?? 1);
    expect(half / error).toBeCloseTo(factor, 9);
  });
});
