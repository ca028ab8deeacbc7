import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitLinear } from '../../../../fitting/least-squares/linear/linear.ts';
import { createSeparableSolver } from '../../../../fitting/least-squares/separable/separable.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';

const rows = 20;

/** Columns and data with a strong correlation of the columns, repeatable from the seed. */
function example(seed: number, count: number): { columns: Float64Array[]; y: Float64Array } {
  const normal = normalSource(seededRandom(seed));
  const common = Float64Array.from({ length: rows }, normal);
  const columns = Array.from({ length: count }, () => common.map((value) => value + 0.7 * normal()));
  return { columns, y: Float64Array.from({ length: rows }, normal) };
}

/**
 * Least sum of squares over every choice of which parameters are at which bound: the definition, by brute
 * force.
 */
function bruteForce(columns: readonly Float64Array[], y: Float64Array, low: number, high: number): number {
  let best = Infinity;
  for (let code = 0; code < 3 ** columns.length; code++) {
    const held = columns.map((_, j) => [null, low, high][Math.floor(code / 3 ** j) % 3]);
    const free = columns.filter((_, j) => held[j] === null);
    const rest = y.map((value, i) =>
      held.reduce<number>((sum, h, j) => sum - (h ?? 0) * columns[j][i], value),
    );
    let cost = rest.reduce((sum, value) => sum + value * value, 0);
    if (free.length > 0) {
      const solved = fitLinear({ columns: free, y: rest });
      if (solved.parameters.some((p) => p.value < low - 1e-12 || p.value > high + 1e-12)) continue;
      cost = solved.residualSumOfSquares as number;
    }
    best = Math.min(best, cost);
  }
  return best;
}

describe('bounds on linear parameters', () => {
  it('give the least sum of squares of all choices of active bounds', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1_000_000 }), fc.integer({ min: 1, max: 4 }), (seed, count) => {
        const { columns, y } = example(seed, count);
        const [low, high] = [0, 0.25];
        const solver = createSeparableSolver({
          linear: columns.map((_, j) => ({ name: `c${j}`, unit: '1', min: low, max: high })),
          nonlinear: [],
          derivatives: [],
        });
        const result = solver.solve({
          y,
          fill: (_theta, basis) => {
            columns.forEach((column, j) => {
              basis[j].set(column);
            });
          },
        });
        expect(result.residualSumOfSquares).toBeCloseTo(bruteForce(columns, y, low, high), 9);
        for (const parameter of result.parameters) {
          expect(parameter.value).toBeGreaterThanOrEqual(low);
          expect(parameter.value).toBeLessThanOrEqual(high);
          if (parameter.value === low) expect(parameter.reason).toBe('at-lower-bound');
          if (parameter.value === high) expect(parameter.reason).toBe('at-upper-bound');
        }
      }),
      { numRuns: 100 },
    );
  });

  it('that are not touched leave the answer of the unbounded problem', () => {
    const { columns, y } = example(3, 3);
    const fill = (_theta: Float64Array, basis: readonly Float64Array[]): void => {
      columns.forEach((column, j) => {
        basis[j].set(column);
      });
    };
    const free = fitLinear({ columns, y });
    const bounded = createSeparableSolver({
      linear: columns.map((_, j) => ({ name: `c${j}`, unit: '1', min: -50, max: 50 })),
      nonlinear: [],
      derivatives: [],
    }).solve({ y, fill });
    free.parameters.forEach((parameter, j) => {
      expect(bounded.parameters[j].value).toBeCloseTo(parameter.value, 10);
      expect(bounded.parameters[j].standardError).toBeCloseTo(parameter.standardError as number, 10);
    });
  });

  it('hold while a nonlinear parameter is fitted: an amplitude that would be negative stays at zero', () => {
    const x = Float64Array.from({ length: 50 }, (_, i) => i * 0.2);
    const y = x.map((t) => 1 - 0.3 * Math.exp(-t / 2) + 0.001 * Math.sin(40 * t));
    const solver = createSeparableSolver({
      linear: [
        { name: 'offset', unit: '1' },
        { name: 'amplitude', unit: '1', min: 0 },
      ],
      nonlinear: [{ name: 'logTau', unit: '1', start: 0, min: -2, max: 3 }],
      derivatives: [{ basis: 1, nonlinear: 0 }],
    });
    const result = solver.solve({
      y,
      fill(theta, basis, slopes) {
        const tau = Math.exp(theta[0]);
        for (let i = 0; i < x.length; i++) {
          basis[0][i] = 1;
          basis[1][i] = Math.exp(-x[i] / tau);
          slopes[0][i] = (basis[1][i] * x[i]) / tau;
        }
      },
    });
    expect(result.parameters[1]).toMatchObject({ value: 0, reason: 'at-lower-bound', standardError: null });
    expect(result.parameters[0].value).toBeCloseTo(y.reduce((a, b) => a + b) / 50, 12);
    // With amplitude 0 the time constant does not matter.
    expect(result.parameters[2].reason).toBe('not-identifiable');
  });
});
