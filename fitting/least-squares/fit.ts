import { assembleResult, type ParameterState, type RobustScale } from './assembleResult.ts';
import {
  type CheckedFitOptions,
  type CheckedProblem,
  checkFitOptions,
  checkProblem,
  type FitOptions,
} from './checkProblem.ts';
import { type Finished, finish } from './finish.ts';
import { libraryEngine } from './libraryEngine.ts';
import { robustFit } from './robustFit.ts';
import { type IterationEnd, trustRegion } from './trustRegion.ts';
import type { FitEngine, FitProblem, FitResult, Termination } from './types.ts';
import { WeightedResiduals } from './weightedResiduals.ts';

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

/**
 * Nonlinear least squares of any model, with bounds, fixed parameters, weights (1/σ²) and an optional robust
 * loss.
 *
 * Which engine does what: ml-levenberg-marquardt goes first (scaled, see `libraryEngine.ts`), because it is
 * quick and well kept where a problem is tame. QR finishes its point on an accurate Jacobian and certifies it
 * by the relative offset (`finish.ts`). Where the certificate or full rank is missing, the own trust region
 * (`trustRegion.ts`) starts again from the original start. Measured on the 54 starts of NIST's nonlinear
 * reference problems, Jacobians by differences: the library alone reaches 4 digits in 39, and exactly these
 * 39 get the certificate, all with 6 digits or more; the other 15 (Bennett5, Lanczos1 to 3, MGH09, MGH10 and
 * others with curved valleys or flat starts) come from the trust region, which gets 54 of 54.
 *
 * Every start is run; the lowest S wins, of equal ones the first. A run that ends without certificate is
 * reported as `max-iterations`. Non-convergence is a result, not an exception.
 *
 * @throws RangeError for lengths, weights, bounds, starts or options that cannot be, naming them
 */
export function fitLeastSquares(problem: FitProblem, options: FitOptions = {}): FitResult {
  const checked = checkProblem(problem);
  const checkedOptions = checkFitOptions(options, checked);
  const residuals = new WeightedResiduals(checked);
  if (checkedOptions.loss) return robustFit(residuals, checkedOptions, checkedOptions.loss);
  return resultOf(residuals, bestRun(residuals, checkedOptions), checkedOptions);
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
