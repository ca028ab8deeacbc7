import type { CovarianceScale, FitModel, FitParameter, FitProblem } from '../types.ts';

/** A problem after checking, without optional fields. */
export interface CheckedProblem {
  readonly model: FitModel;
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly start: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
  readonly fixed: readonly boolean[];
  /** Indices of the parameters that are not fixed. */
  readonly freeIndex: readonly number[];
  readonly y: Float64Array;
  readonly weights: Float64Array;
  /** Points of positive weight. */
  readonly points: number;
}

/**
 * Loss applied to residuals: least squares, Huber's or Tukey's with a scale from the median absolute
 * deviation.
 */
export interface RobustLoss {
  readonly kind: 'huber' | 'tukey';
  /** In units of the scale. Default 1.345 (Huber) or 4.685 (Tukey): 95 % efficiency for normal errors. */
  readonly tuning?: number;
}

/** Settings of `fitLeastSquares`, all with defaults. */
export interface FitOptions {
  /** Iterations of each engine and start. Default 2000 (the hardest published
   * reference problem needs about 900). */
  readonly maxIterations?: number;
  /** ‖P r‖/‖r‖ at which the iteration ends. Default 1e-9. */
  readonly offsetTolerance?: number;
  /** Relative step at which it ends. Default 1e-14. */
  readonly stepTolerance?: number;
  /** Relative fall of S at which it ends. Default 1e-15. */
  readonly costTolerance?: number;
  /** Further starts (all parameters, fixed ones ignored). The best optimum of all is returned. */
  readonly starts?: readonly ArrayLike<number>[];
  readonly covarianceScale?: CovarianceScale;
  readonly loss?: RobustLoss;
  /**
   * `auto`: the library first, the trust region where it falls short; or one of them alone. Default `auto`.
   */
  readonly engine?: 'auto' | 'library' | 'trust-region';
}

export interface CheckedFitOptions {
  readonly maxIterations: number;
  readonly offsetTolerance: number;
  readonly stepTolerance: number;
  readonly costTolerance: number;
  readonly starts: readonly Float64Array[];
  readonly covarianceScale: CovarianceScale;
  readonly loss: Required<RobustLoss> | null;
  readonly engine: 'auto' | 'library' | 'trust-region';
}

/** @throws RangeError naming the field, index and what would be right */
export function checkProblem(problem: FitProblem): CheckedProblem {
  const { parameters, y } = problem;
  if (parameters.length === 0) throw new RangeError('parameters must hold at least one parameter');
  if (y.length === 0) throw new RangeError('y must hold at least one point');
  const weights = problem.weights ?? new Float64Array(y.length).fill(1);
  if (weights.length !== y.length) {
    throw new RangeError(`weights holds ${weights.length} values and y ${y.length}: they must be as many`);
  }
  let points = 0;
  for (let i = 0; i < y.length; i++) {
    if (!(weights[i] >= 0 && weights[i] < Infinity)) {
      throw new RangeError(`weights[${i}] is ${weights[i]}: a weight must be finite and not negative`);
    }
    if (weights[i] > 0) points++;
    if (weights[i] > 0 && !Number.isFinite(y[i]))
      throw new RangeError(`y[${i}] is ${y[i]}: it must be finite`);
  }
  parameters.forEach(checkParameter);
  const names = parameters.map((parameter) => parameter.name);
  const twice = names.find((name, i) => names.indexOf(name) !== i);
  if (twice !== undefined) throw new RangeError(`parameters: the name "${twice}" is used twice`);
  return {
    model: problem.model,
    names,
    units: parameters.map((parameter) => parameter.unit),
    start: Float64Array.from(parameters, (parameter) => parameter.start),
    min: Float64Array.from(parameters, (parameter) => parameter.min ?? -Infinity),
    max: Float64Array.from(parameters, (parameter) => parameter.max ?? Infinity),
    fixed: parameters.map((parameter) => parameter.fixed ?? false),
    freeIndex: parameters.flatMap((parameter, i) => (parameter.fixed ? [] : [i])),
    y,
    weights,
    points,
  };
}

function checkParameter(parameter: FitParameter): void {
  const { name, start, min = -Infinity, max = Infinity, fixed = false } = parameter;
  if (!Number.isFinite(start)) throw new RangeError(`start of "${name}" must be finite, got ${start}`);
  if (!(min < max)) throw new RangeError(`min of "${name}" (${min}) must be below its max (${max})`);
  if (!fixed && !(start >= min && start <= max)) {
    throw new RangeError(`start of "${name}" (${start}) must lie between its min (${min}) and max (${max})`);
  }
}

/** @throws RangeError naming the option */
export function checkFitOptions(options: FitOptions, problem: CheckedProblem): CheckedFitOptions {
  const positive = (name: string, value: number): number => {
    if (!(value > 0)) throw new RangeError(`${name} must be positive, got ${value}`);
    return value;
  };
  const count = problem.names.length;
  const starts = (options.starts ?? []).map((start, s) => {
    if (start.length !== count) {
      throw new RangeError(`starts[${s}] holds ${start.length} values, ${count} parameters need one each`);
    }
    return Float64Array.from(start, (value, i) => {
      if (problem.fixed[i]) return problem.start[i];
      if (!Number.isFinite(value))
        throw new RangeError(`starts[${s}] of "${problem.names[i]}" must be finite`);
      return Math.min(Math.max(value, problem.min[i]), problem.max[i]);
    });
  });
  const { loss } = options;
  return {
    maxIterations: positive('maxIterations', options.maxIterations ?? 2000),
    offsetTolerance: positive('offsetTolerance', options.offsetTolerance ?? 1e-9),
    stepTolerance: positive('stepTolerance', options.stepTolerance ?? 1e-14),
    costTolerance: positive('costTolerance', options.costTolerance ?? 1e-15),
    starts: [problem.start, ...starts],
    covarianceScale: options.covarianceScale ?? 'residual',
    loss: loss
      ? {
          kind: loss.kind,
          tuning: positive('loss.tuning', loss.tuning ?? (loss.kind === 'huber' ? 1.345 : 4.685)),
        }
      : null,
    engine: options.engine ?? 'auto',
  };
}
