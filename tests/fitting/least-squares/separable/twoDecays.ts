import { createSeparableSolver } from '../../../../fitting/least-squares/separable/separable.ts';
import type {
  NonlinearParameter,
  SeparableOptions,
  SeparableShape,
} from '../../../../fitting/least-squares/separable/separableProblem.ts';
import type { FitResult } from '../../../../fitting/least-squares/types.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';

/** Data of y = offset + fast·exp(−x/τ₁) + slow·exp(−x/τ₂). */
export interface Decays {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly weights?: Float64Array;
}

/** 0.1 + 0.05 exp(−x/2) + 0.08 exp(−x/30) with noise of 0.2 mV. */
export function decays(seed: number, count = 400): Decays {
  const normal = normalSource(seededRandom(seed));
  const x = Float64Array.from({ length: count }, (_, i) => i * 0.25);
  return { x, y: x.map((t) => 0.1 + 0.05 * Math.exp(-t / 2) + 0.08 * Math.exp(-t / 30) + 2e-4 * normal()) };
}

export function shape(
  change: (p: NonlinearParameter, k: number) => NonlinearParameter = (p) => p,
): SeparableShape {
  const nonlinear: NonlinearParameter[] = ['logFast', 'logSlow'].map((name, k) => ({
    name,
    unit: '1',
    start: 4 * k,
    min: -3,
    max: 10,
    maxStep: 1.5,
  }));
  return {
    linear: ['offset', 'fast', 'slow'].map((name) => ({ name, unit: 'V' })),
    nonlinear: nonlinear.map(change),
    derivatives: [
      { basis: 1, nonlinear: 0 },
      { basis: 2, nonlinear: 1 },
    ],
  };
}

export const fill =
  ({ x }: Decays) =>
  (
    theta: Float64Array,
    basis: readonly Float64Array[],
    slopes: readonly Float64Array[],
    first: boolean,
  ): void => {
    if (first) basis[0].fill(1);
    for (let k = 0; k < 2; k++) {
      const tau = Math.exp(theta[k]);
      for (let i = 0; i < x.length; i++) {
        const decay = Math.exp(-x[i] / tau);
        basis[k + 1][i] = decay;
        slopes[k][i] = (decay * x[i]) / tau;
      }
    }
  };

export const accumulate =
  ({ x, y }: Decays) =>
  (theta: Float64Array, gram: Float64Array): void => {
    gram.fill(0);
    const z = new Float64Array(6);
    for (let i = 0; i < x.length; i++) {
      z[0] = 1;
      for (let k = 0; k < 2; k++) {
        const tau = Math.exp(theta[k]);
        z[1 + k] = Math.exp(-x[i] / tau);
        z[3 + k] = (z[1 + k] * x[i]) / tau;
      }
      z[5] = y[i];
      for (let a = 0; a < 6; a++) for (let b = a; b < 6; b++) gram[a * 6 + b] += z[a] * z[b];
    }
  };

/** Two starts, neither at the optimum. */
export const starts = [
  [0, 3.5],
  [-1, 2],
];

export const byColumns = (data: Decays, options?: SeparableOptions): FitResult =>
  createSeparableSolver(shape(), options).solve(
    { y: data.y, weights: data.weights, fill: fill(data) },
    starts,
  );
export const byGram = (data: Decays): FitResult =>
  createSeparableSolver(shape()).solve({ points: data.y.length, accumulate: accumulate(data) }, starts);
