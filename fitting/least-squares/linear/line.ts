import type { FitResult } from '../types.ts';
import { fitLinear, type LinearOptions } from './linear.ts';

export interface LineOptions extends LinearOptions {
  /** 1/σ² of each y. */
  readonly weights?: Float64Array;
  /** Leave the intercept out. Default false. */
  readonly throughOrigin?: boolean;
  /** Unit of y and of y over x. Default 1. */
  readonly interceptUnit?: string;
  readonly slopeUnit?: string;
}

/**
 * Straight line y = intercept + slope·x (or slope·x) with errors in y only; parameters named `intercept` and
 * `slope`.
 *
 * @throws RangeError for lengths that differ, negative weights or non-finite data
 */
export function fitLine(x: Float64Array, y: Float64Array, options: LineOptions = {}): FitResult {
  if (x.length !== y.length)
    throw new RangeError(`x holds ${x.length} values and y ${y.length}: they must be as many`);
  x.forEach((value, i) => {
    if (!Number.isFinite(value)) throw new RangeError(`x[${i}] is ${value}: it must be finite`);
  });
  const slope = { name: 'slope', unit: options.slopeUnit ?? '1' };
  const intercept = { name: 'intercept', unit: options.interceptUnit ?? '1' };
  return fitLinear(
    {
      columns: options.throughOrigin ? [x] : [new Float64Array(x.length).fill(1), x],
      y,
      weights: options.weights,
      parameters: options.throughOrigin ? [slope] : [intercept, slope],
    },
    options,
  );
}
