import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitLeastSquares } from '../../../../fitting/least-squares/general/fit.ts';
import { fiellerRegion, inversePrediction } from '../../../../fitting/least-squares/inference/fieller.ts';
import { fitLine } from '../../../../fitting/least-squares/linear/line.ts';
import { fitLinear } from '../../../../fitting/least-squares/linear/linear.ts';
import { fitYorkLine } from '../../../../fitting/least-squares/linear/york.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';

const x = Float64Array.from({ length: 12 }, (_, i) => i);
const noisy = (seed: number): Float64Array => {
  const normal = normalSource(seededRandom(seed));
  return x.map((value) => 3 + 0.5 * value + 0.2 * normal());
};

describe('fitLine', () => {
  it('gives the textbook sums, weighted and through the origin', () => {
    const y = noisy(1);
    const weights = x.map((value) => 1 + value);
    const sum = (f: (i: number) => number): number => x.reduce((total, _, i) => total + f(i), 0);
    const through = fitLine(x, y, { throughOrigin: true, weights });
    expect(through.parameters).toHaveLength(1);
    const slope = sum((i) => weights[i] * x[i] * y[i]) / sum((i) => weights[i] * x[i] ** 2);
    expect(through.parameters[0].value).toBeCloseTo(slope, 12);
    const line = fitLine(x, y, { weights });
    const W = sum((i) => weights[i]);
    const mx = sum((i) => weights[i] * x[i]) / W;
    const my = sum((i) => weights[i] * y[i]) / W;
    const b = sum((i) => weights[i] * (x[i] - mx) * (y[i] - my)) / sum((i) => weights[i] * (x[i] - mx) ** 2);
    expect(line.parameters[1].value).toBeCloseTo(b, 12);
    expect(line.parameters[0].value).toBeCloseTo(my - b * mx, 12);
    const s2 = sum((i) => weights[i] * (y[i] - my - b * (x[i] - mx)) ** 2) / 10;
    expect(line.parameters[1].standardError).toBeCloseTo(
      Math.sqrt(s2 / sum((i) => weights[i] * (x[i] - mx) ** 2)),
      12,
    );
  });

  it('agrees with the general engine', () => {
    const y = noisy(2);
    const line = fitLine(x, y);
    const general = fitLeastSquares({
      y,
      parameters: line.parameters.map((p) => ({ name: p.name, unit: p.unit, start: 1 })),
      model: {
        evaluate(b, out) {
          for (let i = 0; i < x.length; i++) out[i] = b[0] + b[1] * x[i];
        },
      },
    });
    general.parameters.forEach((p, i) => {
      expect(p.value).toBeCloseTo(line.parameters[i].value, 9);
      expect(p.standardError).toBeCloseTo(line.parameters[i].standardError as number, 9);
    });
  });

  it('says that a slope cannot be told from points at one place', () => {
    const result = fitLine(new Float64Array(5).fill(2), Float64Array.of(1, 2, 3, 4, 5));
    expect(result.rank).toBe(1);
    expect(result.parameters.map((p) => p.reason)).toEqual(['not-identifiable', 'not-identifiable']);
  });

  it('names bad input', () => {
    expect(() => fitLine(x, new Float64Array(3))).toThrow(/x holds 12 values and y 3/);
    expect(() => fitLine(Float64Array.of(1, Number.NaN), Float64Array.of(1, 2))).toThrow(/x\[1\]/);
    expect(() => fitLinear({ columns: [], y: x })).toThrow(/columns must hold/);
    expect(() => fitLinear({ columns: [x], y: x, weights: x.map(() => -1) })).toThrow(/weights\[0\]/);
  });
});

describe('fitLinear: rank', () => {
  it('a column that is a sum of others is found whatever the units, and only those three lose their errors', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 99999 }), fc.integer({ min: -8, max: 8 }), (seed, power) => {
        const normal = normalSource(seededRandom(seed));
        const draw = (): Float64Array => Float64Array.from({ length: 30 }, normal);
        const [a, b, c, y] = [draw(), draw(), draw(), draw()];
        const sum = a.map((value, i) => (value + b[i]) * 10 ** power);
        const result = fitLinear({ columns: [a, sum, c, b], y });
        expect(result.rank).toBe(3);
        expect(result.parameters.map((p) => p.reason)).toEqual([
          'not-identifiable',
          'not-identifiable',
          null,
          'not-identifiable',
        ]);
        const reduced = fitLinear({ columns: [a, b, c], y });
        expect(result.residualSumOfSquares).toBeCloseTo(reduced.residualSumOfSquares as number, 9);
        expect(result.parameters[2].value).toBeCloseTo(reduced.parameters[2].value, 9);
      }),
      { numRuns: 50 },
    );
  });
});

describe('fitYorkLine', () => {
  it('does not care which coordinate is called x', () => {
    const y = noisy(3);
    const xWeights = x.map((value) => 20 + value);
    const yWeights = x.map((value) => 30 - value);
    const correlation = x.map((value) => 0.5 * Math.sin(value));
    const line = fitYorkLine({ x, y, xWeights, yWeights, correlation });
    const turned = fitYorkLine({ x: y, y: x, xWeights: yWeights, yWeights: xWeights, correlation });
    expect(turned.parameters[1].value).toBeCloseTo(1 / line.parameters[1].value, 9);
    expect(turned.residualSumOfSquares).toBeCloseTo(line.residualSumOfSquares as number, 8);
    expect(line.converged).toBe(true);
  });

  it('becomes the plain line where x is known well', () => {
    const y = noisy(4);
    const line = fitYorkLine({ x, y, xWeights: x.map(() => 1e14), yWeights: x.map(() => 25) });
    const plain = fitLine(x, y, { weights: x.map(() => 25), covarianceScale: 'weights' });
    line.parameters.forEach((p, i) => {
      expect(p.value).toBeCloseTo(plain.parameters[i].value, 8);
      expect(p.standardError).toBeCloseTo(plain.parameters[i].standardError as number, 6);
    });
  });

  it('names bad input', () => {
    const ones = new Float64Array(12).fill(1);
    expect(() => fitYorkLine({ x, y: x, xWeights: ones, yWeights: new Float64Array(12) })).toThrow(
      /yWeights\[0\] is 0/,
    );
    expect(() => fitYorkLine({ x, y: x, xWeights: ones, yWeights: ones, correlation: ones })).toThrow(
      /correlation\[0\]/,
    );
  });
});

describe('Fieller', () => {
  const base = {
    numeratorVariance: 0.04,
    denominatorVariance: 0.01,
    covariance: 0.005,
    degreesOfFreedom: 20,
  };

  it('ends where the difference from the ratio is just t standard errors (t(20) = 2.085963)', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.double({ min: 0.5, max: 5, noNaN: true }),
        (a, b) => {
          const region = fiellerRegion({ ...base, numerator: a, denominator: b });
          expect(region.kind).toBe('closed');
          for (const rho of [region.low as number, region.high as number]) {
            const variance = 0.04 - 2 * rho * 0.005 + rho * rho * 0.01;
            expect(Math.abs(a - rho * b) / Math.sqrt(variance)).toBeCloseTo(2.085963, 5);
          }
          expect(region.low).toBeLessThanOrEqual(a / b);
          expect(region.high).toBeGreaterThanOrEqual(a / b);
        },
      ),
    );
  });

  it('reports open regions as what they are', () => {
    expect(fiellerRegion({ ...base, numerator: 5, denominator: 0.1 })).toMatchObject({ kind: 'outside' });
    expect(fiellerRegion({ ...base, numerator: 0.1, denominator: 0.1 })).toMatchObject({
      kind: 'everything',
      low: null,
      high: null,
    });
    expect(fiellerRegion({ ...base, numerator: 5, denominator: 0 }).ratio).toBeNull();
  });

  it('holds the true ratio in 95 % of simulated cases', () => {
    const normal = normalSource(seededRandom(8));
    let inside = 0;
    for (let i = 0; i < 2000; i++) {
      const region = fiellerRegion({
        numerator: 2 + 0.2 * normal(),
        denominator: 1 + 0.1 * normal(),
        numeratorVariance: 0.04,
        denominatorVariance: 0.01,
        covariance: 0,
        degreesOfFreedom: Infinity,
      });
      if (region.kind === 'closed' && (region.low as number) < 2 && (region.high as number) > 2) inside++;
    }
    expect(inside / 2000).toBeGreaterThan(0.935);
    expect(inside / 2000).toBeLessThan(0.965);
  });

  it('inverse prediction brackets the x of a response, wider for a new reading than for a threshold', () => {
    const line = fitLine(x, noisy(5));
    const threshold = inversePrediction(line, 6);
    const reading = inversePrediction(line, 6, { observations: 1 });
    expect(threshold.ratio).toBeCloseTo((6 - line.parameters[0].value) / line.parameters[1].value, 12);
    expect(reading.low).toBeLessThan(threshold.low as number);
    expect(reading.high).toBeGreaterThan(threshold.high as number);
    expect(threshold.low).toBeLessThan(6);
    expect(threshold.high).toBeGreaterThan(6);
  });
});
