import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitLeastSquares } from '../../fitting/least-squares/general/fit.ts';
import { aicc } from '../../fitting/least-squares/inference/modelChoice.ts';
import { fitLine } from '../../fitting/least-squares/linear/line.ts';
import { fitLinear } from '../../fitting/least-squares/linear/linear.ts';
import { fitYorkLine } from '../../fitting/least-squares/linear/york.ts';
import type { FitProblem } from '../../fitting/least-squares/types.ts';
import { profileInterval, studentInterval } from '../support/intervals.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const absent = sharedIsMissing('reference/statistics_reference.json');
const reference = absent
  ? null
  : JSON.parse(readFileSync(sharedPath('reference/statistics_reference.json'), 'utf8'));

describe.skipIf(absent)('Puromycin, treated (Bates and Watts 1988, data set in R as Puromycin)', () => {
  const data = reference?.puromycinTreated;
  const x: number[] = data?.conc ?? [];
  const problem: FitProblem = {
    y: Float64Array.from(data?.rate ?? []),
    parameters: [
      { name: 'Vm', unit: '1', start: 160 },
      { name: 'K', unit: '1', start: 0.05 },
    ],
    model: {
      evaluate(b, out) {
        x.forEach((value, i) => {
          out[i] = (b[0] * value) / (b[1] + value);
        });
      },
    },
  };
  const result = absent ? null : fitLeastSquares(problem);
  if (!result) return;

  it('gives the published estimates, errors, correlation and residual deviation', () => {
    expect(result.parameters[0].value).toBeCloseTo(data.Vm, 5);
    expect(result.parameters[1].value).toBeCloseTo(data.K, 9);
    expect(result.parameters[0].standardError).toBeCloseTo(data.seVm, 6);
    expect(result.parameters[1].standardError).toBeCloseTo(data.seK, 8);
    expect(result.residualSd).toBeCloseTo(data.s, 7);
    expect(result.residualSumOfSquares).toBeCloseTo(data.RSS, 6);
    expect(result.degreesOfFreedom).toBe(10);
    expect(result.correlation?.[0][1]).toBeCloseTo(data.corr, 6);
  });

  it.each(['Vm', 'K'])('gives the Wald and the profile-likelihood interval of %s', (name) => {
    const digits = name === 'Vm' ? 3 : 6;
    const wald = studentInterval(result, name);
    expect(wald.low).toBeCloseTo(data.wald95[name][0], digits);
    expect(wald.high).toBeCloseTo(data.wald95[name][1], digits);
    const profile = profileInterval(problem, result, name);
    expect(profile.low).toBeCloseTo(data.profile95[name][0], digits);
    expect(profile.high).toBeCloseTo(data.profile95[name][1], digits);
    expect([profile.lowReason, profile.highReason]).toEqual([null, null]);
  });
});

describe('Biochemical oxygen demand (Bates and Watts 1988, A1.4; values from memory, recomputed)', () => {
  const t = [1, 2, 3, 4, 5, 7];
  const problem: FitProblem = {
    y: Float64Array.of(8.3, 10.3, 19.0, 16.0, 15.6, 19.8),
    parameters: [
      { name: 'A', unit: 'mg/l', start: 20 },
      { name: 'k', unit: '1/d', start: 0.5 },
    ],
    model: {
      evaluate(b, out) {
        t.forEach((value, i) => {
          out[i] = b[0] * (1 - Math.exp(-b[1] * value));
        });
      },
    },
  };
  const result = fitLeastSquares(problem);

  it('gives the printed estimates and a Wald interval for the rate that reaches below zero', () => {
    expect(result.parameters[0].value).toBeCloseTo(19.14258, 5);
    expect(result.parameters[0].standardError).toBeCloseTo(2.49592, 5);
    expect(result.parameters[1].value).toBeCloseTo(0.531091, 6);
    expect(result.parameters[1].standardError).toBeCloseTo(0.203082, 5);
    expect(result.residualSd).toBeCloseTo(2.549033, 5);
    expect(result.correlation?.[0][1]).toBeCloseTo(-0.8528, 4);
    expect(studentInterval(result, 'k').low).toBeCloseTo(-0.0328, 4);
  });

  it('gives a profile interval of the rate that stays above zero, and reports the side that does not close', () => {
    const profile = profileInterval(problem, result, 'k');
    expect(profile.low).toBeGreaterThan(0);
    // S(k) in closed form: A is linear. At the ends it is S + t² s² with t(4) = 2.776445.
    const held = (k: number): number => {
      const f = t.map((value) => 1 - Math.exp(-k * value));
      const up = f.reduce((sum, value, i) => sum + value * problem.y[i], 0);
      const A = up / f.reduce((sum, value) => sum + value * value, 0);
      return f.reduce((sum, value, i) => sum + (problem.y[i] - A * value) ** 2, 0);
    };
    const limit = (result.residualSumOfSquares as number) * (1 + 2.7764451 ** 2 / 4);
    expect(held(profile.low as number)).toBeCloseTo(limit, 4);
    expect(held(profile.high as number)).toBeCloseTo(limit, 4);
    // At 99 % even a step response (k → ∞, S = 107.2) lies within the limit of 163.8.
    const wide = profileInterval(problem, result, 'k', 0.99);
    expect([wide.high, wide.highReason]).toEqual([null, 'open']);
  });
});

describe.skipIf(absent)("Pearson's data with York's weights (York et al. 2004)", () => {
  const data = reference?.york1966;
  const columns = absent
    ? null
    : {
        x: Float64Array.from(data.x),
        y: Float64Array.from(data.y),
        xWeights: Float64Array.from(data.wx),
        yWeights: Float64Array.from(data.wy),
      };

  it('gives intercept, slope and errors in both published conventions', () => {
    if (!columns) return expect.unreachable();
    const known = fitYorkLine(columns);
    expect(known.parameters[0].value).toBeCloseTo(data.a, 9);
    expect(known.parameters[1].value).toBeCloseTo(data.b, 10);
    expect(known.parameters[0].standardError).toBeCloseTo(data.sigmaA, 9);
    expect(known.parameters[1].standardError).toBeCloseTo(data.sigmaB, 9);
    expect(known.covariance?.[0][1]).toBeCloseTo(data.covAB, 9);
    expect(known.residualSumOfSquares).toBeCloseTo(data.S, 9);
    const scaled = fitYorkLine(columns, { covarianceScale: 'residual' });
    expect(scaled.parameters[0].standardError).toBeCloseTo(data.scaledSigmaA, 9);
    expect(scaled.parameters[1].standardError).toBeCloseTo(data.scaledSigmaB, 9);
    expect((scaled.residualSd as number) ** 2).toBeCloseTo(data.reducedS, 9);
  });

  it('gives the plain and the y-weighted line for comparison', () => {
    if (!columns) return expect.unreachable();
    const plain = fitLine(columns.x, columns.y);
    expect(plain.parameters[0].value).toBeCloseTo(5.761185, 6);
    expect(plain.parameters[1].value).toBeCloseTo(-0.539577, 6);
    const weighted = fitLine(columns.x, columns.y, { weights: columns.yWeights });
    expect(weighted.parameters[0].value).toBeCloseTo(6.100109, 6);
    expect(weighted.parameters[1].value).toBeCloseTo(-0.610813, 6);
  });

  it('equal weights in both coordinates give the orthogonal line', () => {
    if (!columns) return expect.unreachable();
    const ones = new Float64Array(10).fill(1);
    const line = fitYorkLine({ ...columns, xWeights: ones, yWeights: ones });
    expect(line.parameters[0].value).toBeCloseTo(5.784044, 6);
    expect(line.parameters[1].value).toBeCloseTo(-0.545561, 6);
  });
});

describe.skipIf(absent)('Hald cement data (Burnham and Anderson 2002, 3.2)', () => {
  const data = reference?.haldAICc;
  interface HaldModel {
    readonly vars: string;
    readonly K: number;
    readonly RSS: number;
    readonly AICc: number;
    readonly delta: number;
    readonly weight: number;
  }
  const models: HaldModel[] = data?.models ?? [];
  const rows: number[][] = data?.data ?? [];
  const fits = models.map((model) =>
    fitLinear({
      columns: [
        new Float64Array(rows.length).fill(1),
        ...[...model.vars].map((digit) => Float64Array.from(rows, (row) => row[Number(digit) - 1])),
      ],
      y: Float64Array.from(rows, (row) => row[4]),
    }),
  );

  it('gives the residual sums of squares, AICc and differences of every model', () => {
    const values = fits.map((fit) => aicc(fit).value as number);
    const best = Math.min(...values);
    models.forEach((model, m) => {
      expect(fits[m].freeParameters + 1).toBe(model.K);
      expect(fits[m].residualSumOfSquares).toBeCloseTo(model.RSS, 4);
      expect(values[m]).toBeCloseTo(model.AICc, 2);
      expect(values[m] - best).toBeCloseTo(model.delta, 2);
    });
  });

  it('has no value for too few points', () => {
    expect(aicc({ residualSumOfSquares: 1, points: 5, freeParameters: 3 })).toEqual({
      value: null,
      reason: 'too-few-points',
    });
  });
});
