import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FitOptions } from '../../../../fitting/least-squares/general/checkProblem.ts';
import { fitLeastSquares } from '../../../../fitting/least-squares/general/fit.ts';
import { seededRandom } from '../../../../fitting/statistics/random.ts';
import { decay, errors, problemOf, truth, values, x } from './noisyDecay.ts';

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
