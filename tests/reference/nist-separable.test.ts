import { describe, expect, it } from 'vitest';
import { createSeparableSolver } from '../../fitting/least-squares/separable/separable.ts';
import type { ColumnModel } from '../../fitting/least-squares/separable/separableProblem.ts';
import type { FitResult } from '../../fitting/least-squares/types.ts';
import { sharedIsMissing } from '../support/required.ts';
import { correctDigits, type NistProblem, nistNonlinear } from './nist-models.ts';

// Source: NIST/ITL Statistical Reference Datasets, nonlinear regression; here those problems in which some
// parameters are linear.
const absent = sharedIsMissing('reference/nist_strd_nonlinear.json');
const problems = absent ? {} : nistNonlinear();

/** φ and ∂φ/∂θ of each basis column at x, and which NIST parameters are linear and nonlinear. */
interface Form {
  readonly linear: readonly number[];
  readonly nonlinear: readonly number[];
  /** Nonlinear parameter of each column; null: constant. */
  readonly columns: readonly (number | null)[];
  readonly value: (x: number, theta: number) => number;
  readonly slope: (x: number, theta: number) => number;
}

const decays = (linear: number[], nonlinear: number[], columns: (number | null)[]): Form => ({
  linear,
  nonlinear,
  columns,
  value: (x, rate) => Math.exp(-rate * x),
  slope: (x, rate) => -x * Math.exp(-rate * x),
});
const sumOfThree = decays([0, 2, 4], [1, 3, 5], [0, 1, 2]);
const rise = (value: Form['value'], slope: Form['slope']): Form => ({
  linear: [0],
  nonlinear: [1],
  columns: [0],
  value,
  slope,
});
const saturating = rise(
  (x, b) => 1 - Math.exp(-b * x),
  (x, b) => x * Math.exp(-b * x),
);

const forms: Record<string, Form> = {
  Lanczos1: sumOfThree,
  Lanczos2: sumOfThree,
  Lanczos3: sumOfThree,
  MGH17: decays([0, 1, 2], [3, 4], [null, 0, 1]),
  Misra1a: saturating,
  BoxBOD: saturating,
  DanWood: rise(
    (x, b) => x ** b,
    (x, b) => x ** b * Math.log(x),
  ),
  Misra1b: rise(
    (x, b) => 1 - (1 + (b * x) / 2) ** -2,
    (x, b) => x * (1 + (b * x) / 2) ** -3,
  ),
};

function solveSeparably(problem: NistProblem, form: Form, start: readonly number[]) {
  const x = problem.x as readonly number[];
  const derivatives = form.columns.flatMap((nonlinear, basis) =>
    nonlinear === null ? [] : [{ basis, nonlinear }],
  );
  const model: ColumnModel = {
    y: Float64Array.from(problem.y),
    fill(theta, basis, slopes) {
      let e = 0;
      form.columns.forEach((k, j) => {
        const slope = k === null ? null : slopes[e++];
        x.forEach((value, i) => {
          basis[j][i] = k === null ? 1 : form.value(value, theta[k]);
          if (slope && k !== null) slope[i] = form.slope(value, theta[k]);
        });
      });
    },
  };
  return createSeparableSolver(
    {
      linear: form.linear.map((index) => ({ name: `b${index + 1}`, unit: '1' })),
      nonlinear: form.nonlinear.map((index) => ({ name: `b${index + 1}`, unit: '1', start: start[index] })),
      derivatives,
    },
    { maxIterations: 500, polish: 'always' },
  ).solve(model);
}

/**
 * NIST index of each of our parameters. The terms of a sum of exponentials may come out in another order:
 * they are matched by their rates, which all three problems of that kind list in rising order.
 */
function inCertifiedOrder(form: Form, result: FitResult): number[] {
  const order = [...form.linear, ...form.nonlinear];
  if (form !== sumOfThree) return order;
  const rates = result.parameters.slice(3).map((parameter) => parameter.value);
  const ranks = rates.map((rate) => rates.filter((other) => other < rate).length);
  return [...ranks.map((rank) => form.linear[rank]), ...ranks.map((rank) => form.nonlinear[rank])];
}

describe.skipIf(absent)('NIST nonlinear problems with linear parameters, solved separably', () => {
  const cases = Object.entries(forms).flatMap(([name, form]) =>
    (['start1', 'start2'] as const).map((start) => ({ name, form, start })),
  );

  it.each(cases)(
    '$name from $start: 6 digits in every parameter, 4 in every standard error',
    ({ name, form, start }) => {
      const problem = problems[name];
      const result = solveSeparably(problem, form, problem[start]);
      expect(result.converged).toBe(true);
      inCertifiedOrder(form, result).forEach((index, i) => {
        const parameter = result.parameters[i];
        expect(
          correctDigits(parameter.value, problem.certified[index]),
          parameter.name,
        ).toBeGreaterThanOrEqual(6);
        if (name === 'Lanczos1') return;
        const certified = problem.certifiedStandardDeviation[index];
        expect(correctDigits(parameter.standardError ?? Number.NaN, certified)).toBeGreaterThanOrEqual(4);
      });
    },
  );
});
