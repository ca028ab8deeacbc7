import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitLeastSquares } from '../../../../fitting/least-squares/general/fit.ts';
import { profileIntervalBy } from '../../../../fitting/least-squares/inference/profile.ts';
import { createSeparableSolver } from '../../../../fitting/least-squares/separable/separable.ts';
import type { FitResult } from '../../../../fitting/least-squares/types.ts';
import { seededRandom } from '../../../../fitting/statistics/random.ts';
import { accumulate, byColumns, byGram, type Decays, decays, fill, shape, starts } from './twoDecays.ts';

const seeds = fc.integer({ min: 1, max: 1_000_000 });
const runs = { numRuns: 20 };
/** Values agree within a fraction of their standard errors, and the errors relatively. */
function expectSame(actual: FitResult, expected: FitResult, fraction: number): void {
  expected.parameters.forEach((parameter, i) => {
    const error = parameter.standardError;
    if (error === null) {
      expect(actual.parameters[i].reason).toBe(parameter.reason);
      expect(actual.parameters[i].value).toBeCloseTo(parameter.value, 9);
      return;
    }
    expect(Math.abs(actual.parameters[i].value - parameter.value)).toBeLessThanOrEqual(fraction * error);
    expect(Math.abs((actual.parameters[i].standardError as number) / error - 1)).toBeLessThan(1e-4);
  });
}

/** The same problem for the general engine: all five parameters nonlinear. */
function general(data: Decays): FitResult {
  return fitLeastSquares({
    y: data.y,
    weights: data.weights,
    parameters: [
      { name: 'offset', unit: 'V', start: 0.1 },
      { name: 'fast', unit: 'V', start: 0.05 },
      { name: 'slow', unit: 'V', start: 0.08 },
      { name: 'logFast', unit: '1', start: Math.log(2) },
      { name: 'logSlow', unit: '1', start: Math.log(30) },
    ],
    model: {
      evaluate(b, out) {
        data.x.forEach((t, i) => {
          out[i] = b[0] + b[1] * Math.exp(-t / Math.exp(b[3])) + b[2] * Math.exp(-t / Math.exp(b[4]));
        });
      },
    },
  });
}

describe('createSeparableSolver: the same answer by every way', () => {
  it('columns, Gram sums, the finish by QR and the general engine agree, covariance of all parameters included', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const data = decays(seed);
        const reference = general(data);
        for (const result of [byColumns(data), byGram(data), byColumns(data, { polish: 'always' })]) {
          expect(result.converged).toBe(true);
          expectSame(result, reference, 1e-4);
          result.covariance?.forEach((row, i) => {
            row.forEach((_, j) => {
              expect(result.correlation?.[i][j]).toBeCloseTo(reference.correlation?.[i][j] as number, 4);
            });
          });
        }
      }),
      runs,
    );
  });

  it('weights act as 1/σ²', () => {
    const data = decays(5);
    const random = seededRandom(11);
    const weighted = { ...data, weights: data.y.map(() => 0.5 + 4 * random()) };
    expectSame(byColumns(weighted), general(weighted), 1e-4);
  });

  it('a solver used for one data set gives the next one the same result as a new solver', () => {
    const solver = createSeparableSolver(shape());
    const [a, b] = [decays(1), decays(2, 150)];
    solver.solve({ y: a.y, fill: fill(a) }, starts);
    const again = solver.solve({ y: b.y, fill: fill(b) }, starts);
    expect(again).toEqual(createSeparableSolver(shape()).solve({ y: b.y, fill: fill(b) }, starts));
  });
});

describe('createSeparableSolver: properties', () => {
  it.each([0, 1])(
    'nonlinear parameter %d fixed keeps its value; the errors are conditional on it only',
    (held) => {
      fc.assert(
        fc.property(seeds, (seed) => {
          const data = decays(seed);
          const at = [Math.log(2.1), Math.log(28)][held];
          const solver = createSeparableSolver(
            shape((parameter, k) => (k === held ? { ...parameter, fixed: true, start: at } : parameter)),
          );
          const start = [0, 3];
          start[held] = at;
          const result = solver.solve({ y: data.y, fill: fill(data) }, [start]);
          expect(result.parameters[3 + held]).toMatchObject({
            value: at,
            standardError: null,
            reason: 'fixed',
          });
          const free = byColumns(data);
          expect(result.residualSumOfSquares).toBeGreaterThanOrEqual(free.residualSumOfSquares as number);
          expect(result.freeParameters).toBe(4);
          for (let i = 0; i < 3; i++) {
            const conditional = result.parameters[i].standardError as number;
            expect(conditional / (result.residualSd as number)).toBeLessThan(
              ((free.parameters[i].standardError as number) / (free.residualSd as number)) * (1 + 1e-6),
            );
          }
        }),
        runs,
      );
    },
  );

  it('a touched bound is reported and equals the fit with the parameter held there', () => {
    const data = decays(3);
    const solver = createSeparableSolver(shape());
    const bounds = { min: [-3, -3], max: [10, Math.log(25)] };
    const result = solver.solve({ y: data.y, fill: fill(data) }, [[0, 3]], bounds);
    expect(result.parameters[4]).toMatchObject({
      value: Math.log(25),
      reason: 'at-upper-bound',
      standardError: null,
    });
    const held = createSeparableSolver(
      shape((parameter, k) => (k === 1 ? { ...parameter, fixed: true, start: Math.log(25) } : parameter)),
    ).solve({ y: data.y, fill: fill(data) }, [[0, Math.log(25)]]);
    for (let i = 0; i < 4; i++) {
      const error = held.parameters[i].standardError as number;
      expect(Math.abs(result.parameters[i].value - held.parameters[i].value)).toBeLessThan(1e-4 * error);
      expect((result.parameters[i].standardError as number) / error).toBeCloseTo(1, 5);
    }
  });

  it('volts or microvolts, seconds or hours: values and errors follow', () => {
    fc.assert(
      fc.property(
        seeds,
        fc.integer({ min: -6, max: 6 }),
        fc.integer({ min: -3, max: 3 }),
        (seed, power, timePower) => {
          const data = decays(seed);
          const [scale, time] = [10 ** power, 10 ** timePower];
          const scaled: Decays = { ...data, y: data.y.map((v) => v * scale), x: data.x.map((t) => t * time) };
          const shift = Math.log(time);
          const solver = createSeparableSolver(shape((parameter) => ({ ...parameter, min: -30, max: 30 })));
          const result = solver.solve(
            { y: scaled.y, fill: fill(scaled) },
            starts.map((start) => start.map((value) => value + shift)),
          );
          const base = byColumns(data);
          base.parameters.forEach((parameter, i) => {
            const expected = i < 3 ? parameter.value * scale : parameter.value + shift;
            const error = (parameter.standardError as number) * (i < 3 ? scale : 1);
            expect(Math.abs(result.parameters[i].value - expected)).toBeLessThan(1e-4 * error);
            expect((result.parameters[i].standardError as number) / error).toBeCloseTo(1, 5);
          });
        },
      ),
      runs,
    );
  });

  it('permuted and doubled points give the same values', () => {
    const data = decays(9);
    const order = Array.from(data.x, (_, i) => i).sort((a, b) => ((a * 7919) % 401) - ((b * 7919) % 401));
    const pick = (source: Float64Array): Float64Array => Float64Array.from(order, (i) => source[i]);
    const base = byColumns(data);
    expectSame(byColumns({ ...data, x: pick(data.x), y: pick(data.y) }), base, 1e-6);
    const twice = byColumns({
      ...data,
      x: Float64Array.of(...data.x, ...data.x),
      y: Float64Array.of(...data.y, ...data.y),
    });
    const n = data.y.length;
    base.parameters.forEach((parameter, i) => {
      const error = parameter.standardError as number;
      expect(Math.abs(twice.parameters[i].value - parameter.value)).toBeLessThan(1e-6 * error);
      const factor = Math.sqrt((n - 5) / (2 * n - 5));
      expect(twice.parameters[i].standardError).toBeCloseTo(error * factor, 9);
    });
  });

  it('reaches the same optimum from any start over three decades', () => {
    fc.assert(
      fc.property(
        seeds,
        fc.double({ min: -2, max: 5, noNaN: true }),
        fc.double({ min: -2, max: 5, noNaN: true }),
        (seed, a, b) => {
          const data = decays(seed);
          const best = byColumns(data).residualSumOfSquares as number;
          const solver = createSeparableSolver(shape());
          const result = solver.solve({ y: data.y, fill: fill(data) }, [[a, b]]);
          expect(result.residualSumOfSquares).toBeLessThan(best * (1 + 1e-6));
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('createSeparableSolver: bounds met on the way', () => {
  it('Gram sums alone get from random starts to the optimum although steps meet the bounds', () => {
    // Starts near a corner of the box make the first steps meet a bound with one parameter and leave it with
    // the other.
    const random = seededRandom(31);
    const solver = createSeparableSolver(shape());
    let missed = 0;
    for (let round = 0; round < 200; round++) {
      const data = decays(round + 1, 200);
      const best = byGram(data).residualSumOfSquares as number;
      const start = [-2.9 + 12 * random(), -2.9 + 12 * random()];
      const result = solver.solve({ points: data.y.length, accumulate: accumulate(data) }, [start]);
      if (!((result.residualSumOfSquares as number) <= best * (1 + 1e-5))) missed++;
      if (!result.converged) missed++;
    }
    expect(missed).toBeLessThanOrEqual(4);
  });
});

describe('createSeparableSolver: standard errors', () => {
  it('cover the truth about as often as they say (1.96 errors, 400 data sets, all five parameters)', () => {
    const truth = [0.1, 0.05, 0.08, Math.log(2), Math.log(30)];
    const inside = truth.map(() => 0);
    for (let seed = 1; seed <= 400; seed++) {
      const result = byGram(decays(seed, 200));
      truth.forEach((value, i) => {
        const { value: estimate, standardError } = result.parameters[i];
        if (Math.abs(estimate - value) < 1.96 * (standardError as number)) inside[i]++;
      });
    }
    for (const count of inside) {
      expect(count / 400).toBeGreaterThan(0.92);
      expect(count / 400).toBeLessThan(0.98);
    }
  });
});

describe('profileIntervalBy', () => {
  it('with a separable solver whose time constant is held gives the interval where S has risen by t²s²', () => {
    const data = decays(12, 200);
    const result = byColumns(data, { polish: 'always' });
    const heldSolver = createSeparableSolver(shape((p, k) => (k === 1 ? { ...p, fixed: true } : p)));
    const held = (value: number, start: ArrayLike<number>) => {
      const again = heldSolver.solve({ y: data.y, fill: fill(data) }, [[start[3], value]]);
      if (!again.converged || again.residualSumOfSquares === null) return null;
      const values = Float64Array.from(again.parameters, (parameter) => parameter.value);
      return { cost: again.residualSumOfSquares, values };
    };
    const profile = profileIntervalBy(result, 'logSlow', held);
    const { value, standardError } = result.parameters[4];
    const S = result.residualSumOfSquares as number;
    // t(195) = 1.972204.
    for (const end of [profile.low as number, profile.high as number]) {
      const rise = (held(end, [0, 0, 0, result.parameters[3].value])?.cost as number) - S;
      expect(rise / ((result.residualSd as number) ** 2 * 1.972204 ** 2)).toBeCloseTo(1, 4);
      expect(Math.abs(end - value) / (1.972204 * (standardError as number))).toBeCloseTo(1, 0.5);
    }
  });
});
