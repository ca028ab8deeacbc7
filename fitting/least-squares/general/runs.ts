import { assembleResult, type ParameterState, type RobustScale } from '../inference/assembleResult.ts';
import type { FitEngine, FitResult, Termination } from '../types.ts';
import type { CheckedFitOptions, CheckedProblem } from './checkProblem.ts';
import { type Finished, finish } from './finish.ts';
import { libraryEngine } from './libraryEngine.ts';
import { type IterationEnd, trustRegion } from './trustRegion.ts';
import type { WeightedResiduals } from './weightedResiduals.ts';

/** Relative offset up to which a point is certified as an optimum. */
const CERTIFIED_OFFSET = 1e-4;
/** S of two runs closer than this is the same optimum. */
const SAME_OPTIMUM = 1e-9;

/** A finished and certified run. */
export interface Run extends Finished {
  readonly engine: FitEngine;
  readonly termination: Termination;
  readonly iterations: number;
}

/** Runs the engines from every start and keeps the best run. */
export function bestRun(residuals: WeightedResiduals, options: CheckedFitOptions): Run {
  let best: Run | null = null;
  let iterations = 0;
  for (const start of options.starts) {
    const free = Float64Array.from(residuals.problem.freeIndex, (index) => start[index]);
    const run = runFrom(residuals, free, options);
    iterations += run.iterations;
    const better = best === null || (isOptimum(run) && !isOptimum(best) && run.cost <= best.cost);
    if (better || (best !== null && run.cost < best.cost * (1 - SAME_OPTIMUM))) best = run;
  }
  return { ...(best as Run), iterations };
}

function runFrom(residuals: WeightedResiduals, free: Float64Array, options: CheckedFitOptions): Run {
  let iterations = 0;
  if (options.engine !== 'trust-region') {
    const end = libraryEngine(residuals, free, options);
    if (end) {
      const run = certify(residuals, end, 'library', options);
      if (options.engine === 'library' || (isOptimum(run) && hasFullRank(run))) return run;
      iterations = end.iterations;
    }
  }
  const end = trustRegion(residuals, free, options, 'central');
  return certify(residuals, { ...end, iterations: iterations + end.iterations }, 'trust-region', options);
}

const isOptimum = (run: Run): boolean =>
  run.termination !== 'max-iterations' && run.termination !== 'non-finite';

function hasFullRank(run: Finished): boolean {
  return run.curvature?.rank === run.states.filter((state) => state === 'free').length;
}

function certify(
  residuals: WeightedResiduals,
  end: IterationEnd,
  engine: FitEngine,
  options: CheckedFitOptions,
): Run {
  if (end.termination === 'non-finite') {
    return {
      ...end,
      states: Array.from(end.free, (): ParameterState => 'free'),
      curvature: null,
      relativeOffset: Number.NaN,
      gradientIsRounding: false,
      engine,
    };
  }
  const done = finish(residuals, end);
  let termination: Termination = end.termination;
  if (!done.gradientIsRounding && !(done.relativeOffset <= CERTIFIED_OFFSET)) termination = 'max-iterations';
  else if (termination === 'max-iterations' || done.relativeOffset <= options.offsetTolerance)
    termination = 'gradient';
  return { ...done, engine, termination, iterations: end.iterations };
}

/** Puts the run into the common record. `robust` replaces S/ν as residual and error variance. */
export function resultOf(
  residuals: WeightedResiduals,
  run: Run,
  options: CheckedFitOptions,
  robust?: RobustScale,
): FitResult {
  const problem: CheckedProblem = residuals.problem;
  const finite = run.termination !== 'non-finite';
  const states: ParameterState[] = problem.names.map(() => 'fixed');
  problem.freeIndex.forEach((index, f) => {
    states[index] = run.states[f];
  });
  return assembleResult({
    names: problem.names,
    units: problem.units,
    starts: problem.start,
    min: problem.min,
    max: problem.max,
    values: residuals.expand(run.free).slice(),
    states,
    curvature: run.curvature,
    residualSumOfSquares: finite ? run.cost : null,
    points: problem.points,
    termination: run.termination,
    iterations: run.iterations,
    evaluations: residuals.evaluations,
    relativeOffset: Number.isFinite(run.relativeOffset) ? run.relativeOffset : null,
    engine: run.engine,
    covarianceScale: options.covarianceScale,
    robust,
  });
}
