import { describe, expect, it } from 'vitest';
import { createSeparableSolver } from '../../../../fitting/least-squares/separable/separable.ts';
import { estimateOf } from '../../../../fitting/least-squares/types.ts';
import { byColumns, decays, fill, shape } from './twoDecays.ts';

describe('createSeparableSolver: what cannot be determined', () => {
  it('says which amplitudes cannot be told apart where both time constants are held equal', () => {
    const data = decays(6);
    const solver = createSeparableSolver(shape((parameter) => ({ ...parameter, fixed: true, start: 1 })));
    const result = solver.solve({ y: data.y, fill: fill(data) });
    expect(result.parameters.map((parameter) => parameter.reason)).toEqual([
      null,
      'not-identifiable',
      'not-identifiable',
      'fixed',
      'fixed',
    ]);
    expect(result).toMatchObject({ rank: 2, freeParameters: 3, covariance: null, condition: null });
    expect(result.parameters[0].standardError).toBeGreaterThan(0);
  });

  it('leaves a crease: equal time constants are a start like any other', () => {
    const data = decays(6);
    const best = byColumns(data).residualSumOfSquares as number;
    const result = createSeparableSolver(shape()).solve({ y: data.y, fill: fill(data) }, [[2, 2]]);
    expect(result.residualSumOfSquares).toBeLessThan(best * (1 + 1e-6));
  });

  it('reports sums that are not finite', () => {
    const result = createSeparableSolver(shape()).solve({
      points: 10,
      accumulate: (_, gram) => gram.fill(Number.NaN),
    });
    expect(result).toMatchObject({ termination: 'non-finite', converged: false, residualSumOfSquares: null });
  });

  it('reports the iteration limit unless the point is an optimum', () => {
    const data = decays(4);
    const result = createSeparableSolver(shape(), { maxIterations: 1, polish: 'never' }).solve(
      { y: data.y, fill: fill(data) },
      [[-2, 5]],
    );
    expect(result).toMatchObject({ termination: 'max-iterations', converged: false, covariance: null });
  });

  it('estimateOf names the parameters there are', () => {
    expect(() => estimateOf(byColumns(decays(1)), 'tau')).toThrow(
      /"tau".*offset, fast, slow, logFast, logSlow/,
    );
  });
});

describe('createSeparableSolver: errors name what is wrong', () => {
  const data = decays(1);
  it.each<[string, () => unknown, RegExp]>([
    [
      'a basis that is not there',
      () => createSeparableSolver({ ...shape(), derivatives: [{ basis: 5, nonlinear: 0 }] }),
      /basis 5/,
    ],
    [
      'a nonlinear parameter nothing depends on',
      () => createSeparableSolver({ ...shape(), derivatives: [{ basis: 1, nonlinear: 0 }] }),
      /"logSlow"/,
    ],
    ['no linear parameter', () => createSeparableSolver({ ...shape(), linear: [] }), /linear must hold/],
    [
      'crossed bounds',
      () => createSeparableSolver(shape((p) => ({ ...p, min: 3, max: 1 }))),
      /min of "logFast"/,
    ],
    [
      'a start of another length',
      () => createSeparableSolver(shape()).solve({ y: data.y, fill: fill(data) }, [[1]]),
      /starts\[0\] holds 1/,
    ],
    [
      'weights of another length',
      () =>
        createSeparableSolver(shape()).solve({ y: data.y, weights: new Float64Array(2), fill: fill(data) }),
      /weights holds 2/,
    ],
    [
      'a value that is not finite',
      () => createSeparableSolver(shape()).solve({ y: data.y.with(3, Infinity), fill: fill(data) }),
      /y\[3\]/,
    ],
    [
      'bounds of another length',
      () =>
        createSeparableSolver(shape()).solve({ y: data.y, fill: fill(data) }, [[0, 1]], {
          min: [0],
          max: [1],
        }),
      /bounds must hold 2/,
    ],
    ['an option', () => createSeparableSolver(shape(), { refine: 0 }), /refine/],
  ])('%s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
