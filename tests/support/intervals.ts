import { fitLeastSquares } from '../../fitting/least-squares/general/fit.ts';
import { coverageFactor } from '../../fitting/least-squares/inference/coverageFactor.ts';
import type { Interval } from '../../fitting/least-squares/inference/interval.ts';
import { type FitHeld, profileIntervalBy } from '../../fitting/least-squares/inference/profile.ts';
import { estimateOf, type FitProblem, type FitResult } from '../../fitting/least-squares/types.ts';

/** Profile-likelihood interval of a general problem: all other parameters are fitted again at each held value. */
export function profileInterval(
  problem: FitProblem,
  result: FitResult,
  name: string,
  level = 0.95,
): Interval {
  const index = result.parameters.indexOf(estimateOf(result, name));
  const held: FitHeld = (value, start) => {
    const again = fitLeastSquares(
      {
        ...problem,
        parameters: problem.parameters.map((parameter, i) => ({
          ...parameter,
          start: i === index ? value : start[i],
          fixed: i === index || parameter.fixed,
        })),
      },
      { engine: 'trust-region' },
    );
    if (!again.converged || again.residualSumOfSquares === null) return null;
    return {
      cost: again.residualSumOfSquares,
      values: Float64Array.from(again.parameters, (parameter) => parameter.value),
    };
  };
  return profileIntervalBy(result, name, held, level);
}

/** value ± t·SE; both ends null without a standard error. */
export function studentInterval(
  result: FitResult,
  name: string,
  level = 0.95,
): { readonly low: number | null; readonly high: number | null } {
  const { value, standardError } = estimateOf(result, name);
  const half = standardError === null ? null : coverageFactor(result, level) * standardError;
  return half === null ? { low: null, high: null } : { low: value - half, high: value + half };
}
