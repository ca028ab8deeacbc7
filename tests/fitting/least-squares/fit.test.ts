import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FitOptions } from '../../../fitting/least-squares/checkProblem.ts';
import { fitLeastSquares } from '../../../fitting/least-squares/fit.ts';
import type { FitModel, FitParameter, FitProblem, FitResult } from '../../../fitting/least-squares/types.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const truth = [2, 0.7, 0.5];
const x = Float64Array.from({ length: 30 }, (_, i) => i * 0.3);
const decay = (points: Float64Array): FitModel => ({
  evaluate(b, out) {
    points.forEach((value, i) => {
      out[i] = b[0] * Math.exp(-b[1] * value) + b[2];
    });
  },
});

/** Noisy decay with an offset, repeatable from the seed. */
function problemOf(
  seed: number,
  change: (p: FitParameter, i: number) => Partial<FitParameter> = () => ({}),
): FitProblem {
  const normal = normalSource(seededRandom(seed));
  const parameters = ['amplitude', 'rate', 'offset'].map((name, i) => {
    const parameter: FitParameter = { name, unit: '1', start: [1.2, 1.1, 0.2][i] };
    return { ...parameter, ...change(parameter, i) };
  });
  return {
    model: decay(x),
    parameters,
    y: x.map((value) => truth[0] * Math.exp(-truth[1] * value) + truth[2] + 0.02 * normal()),
  };
}

const values = (result: FitResult): number[] => result.parameters.map((parameter) => parameter.value);
const errors = (result: FitResult): number[] =>
  result.parameters.map((parameter) => parameter.standardError ?? Number.NaN);

function expectClose(actual: readonly number[], expected: readonly number[], relative: number): void {
  expected.forEach((value, i) => {
    expect(Math.abs(actual[i] - value)).toBeLessThanOrEqual(relative * Math.abs(value));
  });
}

const seeds = fc.integer({ min: 1, max: 1_000_000 });
const runs = { numRuns: 25 };
const engines = ['auto', 'library', 'trust-region'] as const;

describe('fitLeastSquares: properties', () => {
  it.each(engines.flatMap((engine) => [0, 1, 2].map((held) => ({ engine, held }))))(
    'a parameter fixed in position $held ($engine) keeps its value and the others match the model without it',
    ({ engine, held }) => {
      fc.assert(
        fc.property(seeds, (seed) => {
          const at = truth[held] * 1.05;
          const options: FitOptions = { engine };
          const whole = problemOf(seed, (_, i) => (i === held ? { fixed: true, start: at } : {}));
          const result = fitLeastSquares(whole, options);
          const others = [0, 1, 2].filter((i) => i !== held);
          const reduced = fitLeastSquares(
            {
              y: whole.y,
              parameters: others.map((i) => whole.parameters[i]),
              model: {
                evaluate(b, out) {
                  const all = Float64Array.of(at, at, at);
                  others.forEach((i, f) => {
                    all[i] = b[f];
                  });
                  whole.model.evaluate(all, out);
                },
              },
            },
            options,
          );
          expect(result.converged).toBe(true);
          expect(result.parameters[held]).toMatchObject({ value: at, standardError: null, reason: 'fixed' });
          expect(result.freeParameters).toBe(2);
          expectClose(
            others.map((i) => values(result)[i]),
            values(reduced),
            1e-8,
          );
          expectClose(
            others.map((i) => errors(result)[i]),
            errors(reduced),
            1e-6,
          );
          expect(result.covariance?.[held]).toEqual([0, 0, 0]);
        }),
        runs,
      );
    },
  );

  it('wide bounds that are not touched change nothing', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const open = fitLeastSquares(problemOf(seed));
        const bounded = fitLeastSquares(problemOf(seed, () => ({ min: 0.01, max: 50 })));
        expectClose(values(bounded), values(open), 1e-9);
        expectClose(errors(bounded), errors(open), 1e-7);
      }),
      runs,
    );
  });

  it('a touched bound gives the fit with that parameter held there, and says so', () => {
    fc.assert(
      fc.property(seeds, fc.integer({ min: 0, max: 2 }), fc.boolean(), (seed, which, upper) => {
        const bound = truth[which] * (upper ? 0.9 : 1.1);
        const start = truth[which] * (upper ? 0.5 : 2);
        const limits = upper ? { max: bound } : { min: bound };
        const result = fitLeastSquares(problemOf(seed, (_, i) => (i === which ? { ...limits, start } : {})));
        const held = fitLeastSquares(
          problemOf(seed, (_, i) => (i === which ? { fixed: true, start: bound } : {})),
        );
        expect(result.converged).toBe(true);
        expect(result.parameters[which]).toMatchObject({
          value: bound,
          standardError: null,
          reason: upper ? 'at-upper-bound' : 'at-lower-bound',
        });
        expectClose(values(result), values(held), 1e-7);
        expect(result.freeParameters).toBe(2);
      }),
      runs,
    );
  });

  it('rescaled units rescale values and errors and nothing else', () => {
    const power = fc.integer({ min: -9, max: 9 });
    fc.assert(
      fc.property(seeds, power, power, (seed, xPower, yPower) => {
        const [sx, sy] = [10 ** xPower, 10 ** yPower];
        const base = problemOf(seed);
        const result = fitLeastSquares(base);
        const factors = [sy, 1 / sx, sy];
        const scaled = fitLeastSquares({
          y: base.y.map((value) => value * sy),
          model: decay(x.map((value) => value * sx)),
          parameters: base.parameters.map((p, i) => ({ ...p, start: p.start * factors[i] })),
        });
        expectClose(
          values(scaled),
          values(result).map((value, i) => value * factors[i]),
          1e-8,
        );
        expectClose(
          errors(scaled),
          errors(result).map((value, i) => value * factors[i]),
          1e-6,
        );
        expectClose([scaled.condition as number], [result.condition as number], 1e-6);
      }),
      runs,
    );
  });

  it('the order of the points does not matter', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const base = problemOf(seed);
        const random = seededRandom(seed);
        const order = Array.from(x, (_, i) => ({ i, key: random() }))
          .sort((a, b) => a.key - b.key)
          .map(({ i }) => i);
        const shuffled = fitLeastSquares({
          ...base,
          y: Float64Array.from(order, (i) => base.y[i]),
          model: decay(Float64Array.from(order, (i) => x[i])),
        });
        const result = fitLeastSquares(base);
        expectClose(values(shuffled), values(result), 1e-9);
        expectClose(errors(shuffled), errors(result), 1e-7);
      }),
      runs,
    );
  });

  it('every point twice, or weight 2 on every point: same values; weight 0 is the same as leaving a point out', () => {
    fc.assert(
      fc.property(seeds, fc.integer({ min: 0, max: 29 }), (seed, out) => {
        const base = problemOf(seed);
        const result = fitLeastSquares(base);
        const twice = fitLeastSquares({
          ...base,
          y: Float64Array.of(...base.y, ...base.y),
          model: decay(Float64Array.of(...x, ...x)),
        });
        expectClose(values(twice), values(result), 1e-9);
        const [n, p] = [30, 3];
        expectClose(
          errors(twice),
          errors(result).map((e) => e * Math.sqrt((n - p) / (2 * n - p))),
          1e-7,
        );
        const doubled = fitLeastSquares({ ...base, weights: new Float64Array(30).fill(2) });
        expectClose(values(doubled), values(result), 1e-9);
        expectClose(errors(doubled), errors(result), 1e-7);
        const kept = Array.from(x, (_, i) => i).filter((i) => i !== out);
        const without = fitLeastSquares({
          ...base,
          y: Float64Array.from(kept, (i) => base.y[i]),
          model: decay(Float64Array.from(kept, (i) => x[i])),
        });
        const y = base.y.slice();
        y[out] = Number.NaN;
        const ignored = fitLeastSquares({ ...base, y, weights: x.map((_, i) => (i === out ? 0 : 1)) });
        expect(ignored.points).toBe(29);
        expectClose(values(ignored), values(without), 1e-8);
        expectClose(errors(ignored), errors(without), 1e-6);
      }),
      runs,
    );
  });
});

describe('fitLeastSquares: results that are not an optimum', () => {
  it('reports the iteration limit, with the best values and no errors', () => {
    const result = fitLeastSquares(problemOf(1), { maxIterations: 1, engine: 'trust-region' });
    expect(result).toMatchObject({ termination: 'max-iterations', converged: false, covariance: null });
    expect(result.parameters.map((p) => p.reason)).toEqual([
      'not-converged',
      'not-converged',
      'not-converged',
    ]);
  });

  it('reports a model that is not finite at the start', () => {
    const model: FitModel = { evaluate: (_, out) => out.fill(Number.NaN) };
    const result = fitLeastSquares({ ...problemOf(1), model });
    expect(result).toMatchObject({
      termination: 'non-finite',
      converged: false,
      residualSumOfSquares: null,
      covariance: null,
      relativeOffset: null,
    });
    expect(values(result)).toEqual([1.2, 1.1, 0.2]);
  });

  it('says which parameters cannot be told apart, and still gives the others their errors', () => {
    const base = problemOf(2);
    const model: FitModel = {
      evaluate(b, out) {
        x.forEach((value, i) => {
          out[i] = b[0] * b[1] + b[2] * value;
        });
      },
    };
    const result = fitLeastSquares({ ...base, model });
    expect(result.parameters.map((p) => p.reason)).toEqual(['not-identifiable', 'not-identifiable', null]);
    expect(result.parameters[2].standardError).toBeGreaterThan(0);
    expect(result).toMatchObject({ rank: 2, covariance: null, condition: null });
  });

  it('has no errors without degrees of freedom', () => {
    const three = x.slice(0, 3);
    const result = fitLeastSquares({ ...problemOf(3), y: problemOf(3).y.slice(0, 3), model: decay(three) });
    expect(result.degreesOfFreedom).toBe(0);
    expect(result.residualSd).toBeNull();
    expect(result.parameters.every((p) => p.standardError === null)).toBe(true);
  });

  it('weights taken as known give errors even without degrees of freedom', () => {
    const three = Float64Array.of(0, 2, 6);
    const y = three.map((value) => 2 * Math.exp(-0.7 * value) + 0.5);
    const result = fitLeastSquares(
      { ...problemOf(3), y, model: decay(three), weights: new Float64Array(3).fill(2500) },
      { covarianceScale: 'weights' },
    );
    expect(errors(result).every((e) => e > 0)).toBe(true);
  });
});

describe('fitLeastSquares: further starts', () => {
  it('returns the lowest optimum of all starts', () => {
    const t = Float64Array.from({ length: 40 }, (_, i) => i * 0.25);
    const problem: FitProblem = {
      y: t.map((value) => Math.sin(2.3 * value)),
      parameters: [{ name: 'frequency', unit: 'rad/s', start: 0.4 }],
      model: {
        evaluate(b, out) {
          t.forEach((value, i) => {
            out[i] = Math.sin(b[0] * value);
          });
        },
      },
    };
    expect(fitLeastSquares(problem).residualSumOfSquares).toBeGreaterThan(1);
    const many = fitLeastSquares(problem, { starts: [[1], [1.6], [2.2], [2.8]] });
    expect(many.parameters[0].value).toBeCloseTo(2.3, 8);
  });
});

describe('fitLeastSquares: errors name what is wrong', () => {
  it.each<[string, (p: FitProblem) => FitProblem, RegExp]>([
    ['no parameters', (p) => ({ ...p, parameters: [] }), /parameters must hold/],
    ['no points', (p) => ({ ...p, y: new Float64Array(0) }), /y must hold/],
    [
      'weights of another length',
      (p) => ({ ...p, weights: new Float64Array(4) }),
      /weights holds 4 values and y 30/,
    ],
    ['a negative weight', (p) => ({ ...p, weights: new Float64Array(30).fill(-1) }), /weights\[0\] is -1/],
    ['a value that is not finite', (p) => ({ ...p, y: p.y.with(7, Number.NaN) }), /y\[7\] is NaN/],
    [
      'a name used twice',
      (p) => ({ ...p, parameters: [p.parameters[0], p.parameters[0]] }),
      /"amplitude" is used twice/,
    ],
    [
      'crossed bounds',
      (p) => ({ ...p, parameters: [{ ...p.parameters[0], min: 3, max: 1 }] }),
      /min of "amplitude"/,
    ],
    [
      'a start outside',
      (p) => ({ ...p, parameters: [{ ...p.parameters[0], min: 3 }] }),
      /start of "amplitude" \(1.2\)/,
    ],
    [
      'a start that is not finite',
      (p) => ({ ...p, parameters: [{ ...p.parameters[1], start: Infinity }] }),
      /start of "rate"/,
    ],
  ])('%s', (_, change, message) => {
    expect(() => fitLeastSquares(change(problemOf(1)))).toThrow(message);
  });

  it.each<[FitOptions, RegExp]>([
    [{ maxIterations: 0 }, /maxIterations must be positive/],
    [{ stepTolerance: -1 }, /stepTolerance must be positive/],
    [{ starts: [[1]] }, /starts\[0\] holds 1 values, 3 parameters/],
    [{ loss: { kind: 'huber', tuning: 0 } }, /loss.tuning must be positive/],
  ])('option %j', (options, message) => {
    expect(() => fitLeastSquares(problemOf(1), options)).toThrow(message);
  });
});
