import { describe, expect, it } from 'vitest';
import type { RobustLoss } from '../../../../fitting/least-squares/general/checkProblem.ts';
import { fitLeastSquares } from '../../../../fitting/least-squares/general/fit.ts';
import type { FitProblem } from '../../../../fitting/least-squares/types.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';

const x = Float64Array.from({ length: 60 }, (_, i) => i * 0.2);

/** 2·exp(−0.4x) + 0.5 with normal noise of 0.02; every `every`-th point, if any, is 1 too high. */
function problem(seed: number, every = 0): FitProblem {
  const normal = normalSource(seededRandom(seed));
  return {
    y: x.map(
      (t, i) => 2 * Math.exp(-0.4 * t) + 0.5 + 0.02 * normal() + (every > 0 && i % every === 3 ? 1 : 0),
    ),
    parameters: [
      { name: 'a', unit: '1', start: 1 },
      { name: 'k', unit: '1', start: 1 },
      { name: 'c', unit: '1', start: 0 },
    ],
    model: {
      evaluate(b, out) {
        x.forEach((t, i) => {
          out[i] = b[0] * Math.exp(-b[1] * t) + b[2];
        });
      },
    },
  };
}
const truth = [2, 0.4, 0.5];
const losses: RobustLoss[] = [{ kind: 'huber' }, { kind: 'tukey' }];

describe.each(losses)('robust loss $kind', (loss) => {
  it('finds the truth within 4 standard errors among one gross outlier in eight, where plain least squares does not', () => {
    const plain = fitLeastSquares(problem(1, 8));
    const robust = fitLeastSquares(problem(1, 8), { loss });
    expect(robust.converged).toBe(true);
    expect(Math.abs(plain.parameters[2].value - 0.5)).toBeGreaterThan(0.05);
    robust.parameters.forEach((parameter, i) => {
      expect(Math.abs(parameter.value - truth[i])).toBeLessThan(4 * (parameter.standardError as number));
      expect(parameter.standardError).toBeLessThan((plain.parameters[i].standardError as number) / 3);
    });
    expect(robust.residualSd).toBeGreaterThan(0.015);
    expect(robust.residualSd).toBeLessThan(0.035);
  });

  it('stays close to plain least squares on clean data, with errors about 1/√0.95 as large', () => {
    let ratio = 0;
    const seeds = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
    for (const seed of seeds) {
      const plain = fitLeastSquares(problem(seed));
      const robust = fitLeastSquares(problem(seed), { loss });
      robust.parameters.forEach((parameter, i) => {
        const error = plain.parameters[i].standardError as number;
        expect(Math.abs(parameter.value - plain.parameters[i].value)).toBeLessThan(2 * error);
      });
      ratio +=
        (robust.parameters[1].standardError as number) / (plain.parameters[1].standardError as number) / 10;
    }
    expect(ratio).toBeGreaterThan(0.9);
    expect(ratio).toBeLessThan(1.25);
  });

  it('solves its own normal equations: Σ ψ(r/s) ∂f = 0', () => {
    const data = problem(3, 8);
    const robust = fitLeastSquares(data, { loss });
    const [a, k, c] = robust.parameters.map((parameter) => parameter.value);
    const scale = robust.residualSd as number;
    const tuning = loss.kind === 'huber' ? 1.345 : 4.685;
    const sums = [0, 0, 0];
    const sizes = [0, 0, 0];
    x.forEach((t, i) => {
      const u = (data.y[i] - a * Math.exp(-k * t) - c) / scale;
      let psi = Math.max(-tuning, Math.min(tuning, u));
      if (loss.kind === 'tukey') psi = Math.abs(u) < tuning ? u * (1 - (u / tuning) ** 2) ** 2 : 0;
      [Math.exp(-k * t), -a * t * Math.exp(-k * t), 1].forEach((slope, j) => {
        sums[j] += psi * slope;
        sizes[j] += Math.abs(psi * slope);
      });
    });
    sums.forEach((sum, j) => {
      expect(Math.abs(sum)).toBeLessThan(1e-6 * sizes[j]);
    });
  });

  it('recovers a curve on which nine tenths of the points lie exactly', () => {
    const base = problem(1);
    const exact = x.map((t, i) => 2 * Math.exp(-0.4 * t) + 0.5 + (i % 10 === 0 ? 1 : 0));
    const result = fitLeastSquares({ ...base, y: exact }, { loss });
    result.parameters.forEach((parameter, i) => {
      expect(parameter.value).toBeCloseTo(truth[i], 4);
    });
  });
});

describe('robust losses against a published data set', () => {
  // Stack loss data (Brownlee 1965, in R as stackloss); Huber coefficients −41.0265, 0.8294, 0.9261, −0.1278
  // and scale 2.441 as printed for rlm in MASS (Venables and Ripley 2002, 6.5); values from memory.
  it('gives the Huber line of the stack loss data', () => {
    const air = [80, 80, 75, 62, 62, 62, 62, 62, 58, 58, 58, 58, 58, 58, 50, 50, 50, 50, 50, 56, 70];
    const water = [27, 27, 25, 24, 22, 23, 24, 24, 23, 18, 18, 17, 18, 19, 18, 18, 19, 19, 20, 20, 20];
    const acid = [89, 88, 90, 87, 87, 87, 93, 93, 87, 80, 89, 88, 82, 93, 89, 86, 72, 79, 80, 82, 91];
    const loss = [42, 37, 37, 28, 18, 18, 19, 20, 15, 14, 14, 13, 11, 12, 8, 7, 8, 8, 9, 15, 15];
    const result = fitLeastSquares(
      {
        y: Float64Array.from(loss),
        parameters: ['intercept', 'air', 'water', 'acid'].map((name) => ({ name, unit: '1', start: 0.5 })),
        model: {
          evaluate(b, out) {
            air.forEach((value, i) => {
              out[i] = b[0] + b[1] * value + b[2] * water[i] + b[3] * acid[i];
            });
          },
        },
      },
      { loss: { kind: 'huber' } },
    );
    [-41.0265, 0.8294, 0.9261, -0.1278].forEach((value, i) => {
      expect(result.parameters[i].value).toBeCloseTo(value, i === 0 ? 2 : 3);
    });
    expect(result.residualSd).toBeCloseTo(2.441, 2);
    [9.8073, 0.1112, 0.3034, 0.1289].forEach((value, i) => {
      expect((result.parameters[i].standardError as number) / value).toBeCloseTo(1, 1);
    });
  });
});
