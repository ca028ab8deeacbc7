import { describe, expect, it } from 'vitest';
import { fitLeastSquares } from '../../fitting/least-squares/general/fit.ts';
import type { FitResult } from '../../fitting/least-squares/types.ts';
import { sharedIsMissing } from '../support/required.ts';
import { correctDigits, type NistProblem, nistCurves, nistNonlinear } from './nist-models.ts';

// Source: NIST/ITL Statistical Reference Datasets, nonlinear regression,
// https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml
const absent = sharedIsMissing('reference/nist_strd_nonlinear.json');

function solve(
  name: string,
  problem: NistProblem,
  start: readonly number[],
  engine: 'auto' | 'library' | 'trust-region',
): FitResult {
  const y = Float64Array.from(problem.y, (value) => (problem.responseTransform ? Math.log(value) : value));
  const curve = nistCurves[name];
  return fitLeastSquares(
    {
      y,
      parameters: start.map((value, i) => ({ name: `b${i + 1}`, unit: '1', start: value })),
      model: {
        evaluate(b, out) {
          problem.x.forEach((x, i) => {
            out[i] = typeof x === 'number' ? curve(b, x, 0) : curve(b, x[0], x[1]);
          });
        },
      },
    },
    { engine },
  );
}

const parameterDigits = (result: FitResult, problem: NistProblem): number =>
  Math.min(...result.parameters.map((p, i) => correctDigits(p.value, problem.certified[i])));

const errorDigits = (result: FitResult, problem: NistProblem): number =>
  Math.min(
    ...result.parameters.map((p, i) =>
      correctDigits(p.standardError ?? Number.NaN, problem.certifiedStandardDeviation[i]),
    ),
  );

describe.skipIf(absent)('NIST nonlinear reference problems, Jacobians by differences', () => {
  const problems = absent ? [] : Object.entries(nistNonlinear());
  const cases = problems.flatMap(([name, problem]) =>
    (['start1', 'start2'] as const).map((start) => ({ name, problem, start })),
  );

  it('holds all 27 problems', () => {
    expect(problems).toHaveLength(27);
  });

  it.each(cases)('$name from $start: 6 digits in every parameter, 4 in every standard error', (entry) => {
    const { name, problem, start } = entry;
    const result = solve(name, problem, problem[start], 'auto');
    expect(result.converged).toBe(true);
    expect(parameterDigits(result, problem)).toBeGreaterThanOrEqual(6);
    expect(result.degreesOfFreedom).toBe(problem.degreesOfFreedom);
    // Lanczos1's data were made without noise: its residuals, and so its errors, are at rounding level.
    if (name === 'Lanczos1') return;
    expect(errorDigits(result, problem)).toBeGreaterThanOrEqual(4);
    expect(
      correctDigits(result.residualSumOfSquares as number, problem.residualSumOfSquares),
    ).toBeGreaterThan(6);
    expect(correctDigits(result.residualSd as number, problem.residualStandardDeviation)).toBeGreaterThan(6);
  });

  it.each(cases)('$name from $start: the trust region alone reaches 6 digits', ({ name, problem, start }) => {
    expect(
      parameterDigits(solve(name, problem, problem[start], 'trust-region'), problem),
    ).toBeGreaterThanOrEqual(6);
  });

  it('a good termination is never a wrong answer, the library alone included, and it takes about 39 of the 54', () => {
    let right = 0;
    for (const { name, problem, start } of cases) {
      const result = solve(name, problem, problem[start], 'library');
      const digits = parameterDigits(result, problem);
      if (result.converged) expect(digits, `${name} ${start}`).toBeGreaterThanOrEqual(6);
      if (!result.converged) expect(result.termination).toBe('max-iterations');
      if (digits >= 6) right++;
    }
    expect(right).toBeGreaterThanOrEqual(37);
  });
});
