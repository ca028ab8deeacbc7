import { describe, expect, it } from 'vitest';
import type { FitOptions } from '../../../../fitting/least-squares/general/checkProblem.ts';
import { fitLeastSquares } from '../../../../fitting/least-squares/general/fit.ts';
import type { FitModel, FitProblem } from '../../../../fitting/least-squares/types.ts';
import { decay, errors, problemOf, values, x } from './noisyDecay.ts';

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

  it('keeps the best point where the way ends at the edge of where the model is finite', () => {
    const base = problemOf(1);
    const model: FitModel = {
      evaluate(b, out) {
        base.model.evaluate(b, out);
        if (b[1] < 0.8) out.fill(Number.NaN);
      },
    };
    const result = fitLeastSquares({ ...base, model });
    expect(result).toMatchObject({ termination: 'max-iterations', converged: false, covariance: null });
    expect(result.parameters[1].value).toBeGreaterThanOrEqual(0.8);
    expect(result.residualSumOfSquares).toBeGreaterThan(0);
  });

  it('with every parameter fixed is the sum of squares there', () => {
    const base = problemOf(1, () => ({ fixed: true }));
    const out = new Float64Array(30);
    base.model.evaluate(Float64Array.of(1.2, 1.1, 0.2), out);
    const result = fitLeastSquares(base);
    expect(result).toMatchObject({ freeParameters: 0, degreesOfFreedom: 30, converged: true });
    expect(result.residualSumOfSquares).toBeCloseTo(
      out.reduce((sum, value, i) => sum + (base.y[i] - value) ** 2, 0),
      10,
    );
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
