import type { CovarianceScale } from '../types.ts';
import type { ColumnModel, NonlinearBounds, SeparableOptions, SeparableShape } from './separableProblem.ts';

/** A shape and its options, complete, so that the loop has no defaults left. */
export interface CheckedSeparable {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly nonlinearNames: readonly string[];
  readonly linearCount: number;
  readonly nonlinearCount: number;
  readonly derivatives: readonly { readonly basis: number; readonly nonlinear: number }[];
  readonly linearMin: Float64Array;
  readonly linearMax: Float64Array;
  readonly start: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
  readonly maxStep: Float64Array;
  readonly fixed: readonly boolean[];
  readonly maxIterations: number;
  readonly offsetTolerance: number;
  readonly refine: number;
  readonly covarianceScale: CovarianceScale;
  readonly polish: 'auto' | 'always' | 'never';
}

/** @throws RangeError naming the field */
export function checkSeparable(shape: SeparableShape, options: SeparableOptions): CheckedSeparable {
  const { linear, nonlinear, derivatives } = shape;
  checkShape(shape);
  const { maxIterations = 60, offsetTolerance = 1e-6, refine = 3 } = options;
  if (!(maxIterations >= 1)) throw new RangeError(`maxIterations must be at least 1, got ${maxIterations}`);
  if (!(offsetTolerance > 0))
    throw new RangeError(`offsetTolerance must be positive, got ${offsetTolerance}`);
  if (!(refine >= 1)) throw new RangeError(`refine must be at least 1, got ${refine}`);
  return {
    names: [...linear, ...nonlinear].map((parameter) => parameter.name),
    units: [...linear, ...nonlinear].map((parameter) => parameter.unit),
    nonlinearNames: nonlinear.map((parameter) => parameter.name),
    linearCount: linear.length,
    nonlinearCount: nonlinear.length,
    derivatives,
    linearMin: Float64Array.from(linear, (parameter) => parameter.min ?? -Infinity),
    linearMax: Float64Array.from(linear, (parameter) => parameter.max ?? Infinity),
    start: Float64Array.from(nonlinear, (parameter) => parameter.start),
    min: Float64Array.from(nonlinear, (parameter) => parameter.min ?? -Infinity),
    max: Float64Array.from(nonlinear, (parameter) => parameter.max ?? Infinity),
    maxStep: Float64Array.from(nonlinear, (parameter) => parameter.maxStep ?? Infinity),
    fixed: nonlinear.map((parameter) => parameter.fixed ?? false),
    maxIterations,
    offsetTolerance,
    refine,
    covarianceScale: options.covarianceScale ?? 'residual',
    polish: options.polish ?? 'auto',
  };
}

function checkShape({ linear, nonlinear, derivatives }: SeparableShape): void {
  if (linear.length === 0) throw new RangeError('linear must hold at least one parameter');
  const inRange = (what: string, index: number, count: number): void => {
    if (Number.isInteger(index) && index >= 0 && index < count) return;
    throw new RangeError(`derivatives: ${what} ${index} is not between 0 and ${count - 1}`);
  };
  for (const entry of derivatives) {
    inRange('basis', entry.basis, linear.length);
    inRange('nonlinear', entry.nonlinear, nonlinear.length);
  }
  nonlinear.forEach(({ name, start, maxStep }, k) => {
    if (!derivatives.some((entry) => entry.nonlinear === k)) {
      throw new RangeError(`derivatives: no basis depends on the nonlinear parameter "${name}"`);
    }
    if (!Number.isFinite(start)) throw new RangeError(`start of "${name}" must be finite, got ${start}`);
    if (maxStep !== undefined && !(maxStep > 0)) {
      throw new RangeError(`maxStep of "${name}" must be positive, got ${maxStep}`);
    }
  });
  for (const { name, min = -Infinity, max = Infinity } of [...linear, ...nonlinear]) {
    if (!(min < max)) throw new RangeError(`min of "${name}" must be below its max`);
  }
}

/** The model itself, after checking. @throws RangeError for weights or values that cannot be */
export function checkedColumns(model: ColumnModel): ColumnModel {
  const { y, weights } = model;
  if (weights && weights.length !== y.length) {
    throw new RangeError(`weights holds ${weights.length} values and y ${y.length}: they must be as many`);
  }
  for (let i = 0; i < y.length; i++) {
    if (!Number.isFinite(y[i])) throw new RangeError(`y[${i}] is ${y[i]}: it must be finite`);
    if (weights && !(weights[i] >= 0 && weights[i] < Infinity)) {
      throw new RangeError(`weights[${i}] is ${weights[i]}: a weight must be finite and not negative`);
    }
  }
  return model;
}

/** @throws RangeError for bounds or starts of the wrong length, crossed bounds or non-finite starts */
export function checkStarts(
  names: readonly string[],
  starts: readonly ArrayLike<number>[],
  bounds: NonlinearBounds | undefined,
): void {
  const count = names.length;
  if (starts.length === 0) throw new RangeError('starts must hold at least one start');
  starts.forEach((start, s) => {
    if (start.length !== count) {
      throw new RangeError(
        `starts[${s}] holds ${start.length} values, ${count} nonlinear parameters need one each`,
      );
    }
    for (let k = 0; k < count; k++) {
      if (!Number.isFinite(start[k]))
        throw new RangeError(`starts[${s}] of "${names[k]}" is ${start[k]}: it must be finite`);
    }
  });
  if (!bounds) return;
  if (bounds.min.length !== count || bounds.max.length !== count) {
    throw new RangeError(`bounds must hold ${count} values each for min and max`);
  }
  for (let k = 0; k < count; k++) {
    if (!(bounds.min[k] < bounds.max[k]))
      throw new RangeError(`bounds: min of "${names[k]}" must be below its max`);
  }
}
