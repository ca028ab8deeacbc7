import type { RandomSource } from '../../statistics/random.ts';
import { checkLevel } from '../inference/interval.ts';
import type { FitProblem, FitResult } from '../types.ts';
import type { FitOptions } from './checkProblem.ts';
import { fitLeastSquares } from './fit.ts';

export interface BootstrapOptions {
  readonly replicates?: number;
  readonly level?: number;
  readonly random: RandomSource;
  readonly fit?: FitOptions;
}

/** Spread of one parameter over the replicates; null where fewer than 20 of them converged. */
export interface BootstrapEstimate {
  readonly name: string;
  readonly standardDeviation: number | null;
  readonly low: number | null;
  readonly high: number | null;
}

export interface BootstrapResult {
  readonly parameters: readonly BootstrapEstimate[];
  readonly replicates: number;
  /** Replicates that converged: the others are left out of the percentiles. */
  readonly converged: number;
  readonly level: number;
}

const FEWEST = 20;

/**
 * Residual bootstrap (Efron and Tibshirani 1993, 9.4): the centred weighted residuals, times √(n/(n − p)),
 * are drawn with replacement, put on the fitted curve and fitted again from the estimate. Percentile
 * intervals (type 7 quantiles).
 *
 * @param random the only source of randomness
 * @throws RangeError for fewer than 20 replicates, or a fit without residual degrees of freedom
 */
export function residualBootstrap(
  problem: FitProblem,
  result: FitResult,
  options: BootstrapOptions,
): BootstrapResult {
  const { replicates = 400, level = 0.95, random } = options;
  checkLevel(level);
  if (!(replicates >= FEWEST))
    throw new RangeError(`replicates must be at least ${FEWEST}, got ${replicates}`);
  if (result.degreesOfFreedom <= 0)
    throw new RangeError('the fit has no degrees of freedom to draw residuals from');
  const { y, weights } = problem;
  const values = Float64Array.from(result.parameters, (parameter) => parameter.value);
  const curve = new Float64Array(y.length);
  problem.model.evaluate(values, curve);
  const used = Array.from(y, (_, i) => i).filter((i) => !weights || weights[i] > 0);
  const root = (i: number): number => (weights ? Math.sqrt(weights[i]) : 1);
  const pool = used.map((i) => (y[i] - curve[i]) * root(i));
  const mean = pool.reduce((sum, rest) => sum + rest, 0) / pool.length;
  const inflate = Math.sqrt(result.points / result.degreesOfFreedom);
  const draws = Array.from(values, (): number[] => []);
  let converged = 0;
  for (let b = 0; b < replicates; b++) {
    const fresh = curve.slice();
    for (const i of used) fresh[i] += ((pool[Math.floor(random() * pool.length)] - mean) * inflate) / root(i);
    const again = fitLeastSquares(
      {
        ...problem,
        y: fresh,
        parameters: problem.parameters.map((parameter, j) => ({ ...parameter, start: values[j] })),
      },
      { ...options.fit, engine: 'trust-region' },
    );
    if (!again.converged) continue;
    converged++;
    again.parameters.forEach((parameter, j) => {
      draws[j].push(parameter.value);
    });
  }
  return {
    parameters: draws.map((d, j) => summarise(result.parameters[j].name, d, level)),
    replicates,
    converged,
    level,
  };
}

function summarise(name: string, draws: number[], level: number): BootstrapEstimate {
  if (draws.length < FEWEST) return { name, standardDeviation: null, low: null, high: null };
  const sorted = Float64Array.from(draws).sort();
  const mean = sorted.reduce((sum, value) => sum + value, 0) / sorted.length;
  const variance = sorted.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (sorted.length - 1);
  const quantile = (p: number): number => {
    const at = p * (sorted.length - 1);
    const below = Math.floor(at);
    const above = Math.min(below + 1, sorted.length - 1);
    return sorted[below] + (at - below) * (sorted[above] - sorted[below]);
  };
  return {
    name,
    standardDeviation: Math.sqrt(variance),
    low: quantile((1 - level) / 2),
    high: quantile((1 + level) / 2),
  };
}
