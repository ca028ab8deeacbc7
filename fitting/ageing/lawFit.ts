import type { FitResult, UncertaintyReason } from '../least-squares/index.ts';

/** Names of the fade and rise models. */
export type AgeingModelName =
  | 'linear'
  | 'square-root'
  | 'power'
  | 'exponential-linear'
  | 'two-slope'
  | 'three-slope';

/** One parameter of a fitted model. Units follow from the series: `y` per `x` and so on, see each model. */
export interface LawParameter {
  readonly name: string;
  readonly value: number;
  /** Null with a `reason`. Grown by the autocorrelation of the residuals, see {@link LawFit.varianceInflation}. */
  readonly standardError: number | null;
  readonly reason: UncertaintyReason | null;
}

/**
 * One model fitted to one series. A class rather than a record of functions: a forecast makes hundreds of fits, and
 * most are only asked for their curve, so everything but the curve is worked out on demand.
 *
 * Covariances are those of independent errors (see the engine) times `varianceInflation`. A published parameter has a
 * standard error where the engine's covariance is complete, and otherwise the reason of the first engine parameter it
 * depends on that has none.
 */
export abstract class LawFit {
  abstract readonly name: AgeingModelName;
  readonly fit: FitResult;
  /**
   * (1 + ρ)/(1 − ρ) with ρ the residuals' correlation from point to point, or what the steps of the readings hide; at
   * least 1. Set by `inflated`.
   */
  varianceInflation = 1;

  constructor(fit: FitResult) {
    this.fit = fit;
  }

  /** This fit with its variances grown by a factor (see {@link varianceInflation}). */
  inflated(factor: number): this {
    this.varianceInflation = factor;
    return this;
  }

  /** The curve at x. */
  abstract value(x: number): number;
  /** Its derivative at x. */
  abstract slope(x: number): number;
  /** Its gradient in the engine's parameters. */
  abstract gradient(x: number): readonly number[];
  /** Published names and values, and one row each of ∂(published)/∂(engine's). */
  abstract published(): readonly (readonly [string, number, readonly number[]])[];

  get parameters(): readonly LawParameter[] {
    const covariance = this.covariance;
    return this.published().map(([name, value, row], i) => {
      const reason = reasonOf(this.fit, row);
      const variance = covariance?.[i][i] ?? null;
      const standardError = reason === null && variance !== null ? Math.sqrt(Math.max(0, variance)) : null;
      return { name, value, standardError, reason };
    });
  }

  /** Value of a published parameter. @throws RangeError when there is none of that name */
  parameter(name: string): number {
    const found = this.published().find((entry) => entry[0] === name);
    if (found === undefined) throw new RangeError(`The model ${this.name} has no parameter "${name}"`);
    return found[1];
  }

  /** Covariance of `parameters`, in their order; null where any of them has no standard error. */
  get covariance(): readonly (readonly number[])[] | null {
    if (this.fit.covariance === null) return null;
    const rows = this.published().map((entry) => entry[2]);
    return congruence(rows, this.fit.covariance, this.varianceInflation);
  }

  /** Whether the data tell the parameters apart; a model that they do not takes no part in the choice. */
  get identifiable(): boolean {
    return this.fit.covariance !== null;
  }

  get residualSumOfSquares(): number {
    return this.fit.residualSumOfSquares ?? Number.NaN;
  }

  /** Variance of the curve at x from the covariance of the parameters (delta method); null without covariance. */
  variance(x: number): number | null {
    if (this.fit.covariance === null) return null;
    return congruence([this.gradient(x)], this.fit.covariance, this.varianceInflation)[0][0];
  }
}

/**
 * f J A Jᵀ for a small symmetric matrix A, a Jacobian J given by rows and a factor f. Plain loops: a forecast asks for it at
 * hundreds of x, and callbacks shared by all laws cost several times the arithmetic.
 */
function congruence(
  jacobian: readonly (readonly number[])[],
  a: readonly (readonly number[])[],
  factor: number,
): number[][] {
  const product: number[][] = [];
  const half = new Array<number>(a.length).fill(0);
  for (let i = 0; i < jacobian.length; i++) {
    const row = jacobian[i];
    for (let k = 0; k < a.length; k++) {
      let sum = 0;
      for (let j = 0; j < row.length; j++) sum += row[j] * a[k][j];
      half[k] = sum * factor;
    }
    const made: number[] = [];
    for (const other of jacobian) {
      let sum = 0;
      for (let k = 0; k < a.length; k++) sum += half[k] * other[k];
      made.push(sum);
    }
    product.push(made);
  }
  return product;
}

function reasonOf(fit: FitResult, row: readonly number[]): UncertaintyReason | null {
  for (let j = 0; j < row.length; j++) {
    if (row[j] !== 0 && fit.parameters[j].reason !== null) return fit.parameters[j].reason;
  }
  return fit.covariance === null ? 'not-identifiable' : null;
}

/**
 * (1 + ρ)/(1 − ρ): how much less a point counts when neighbours err alike, for residuals of an autoregressive kind (G.
 * E. P. Box, G. M. Jenkins, Time Series Analysis, 1970, variance of a mean). ρ is the lag-one correlation, taken as 0
 * while it stays within 2/√n of it, and at most 0.98.
 */
export function varianceInflation(residuals: Float64Array): number {
  const n = residuals.length;
  let square = 0;
  let product = 0;
  for (let i = 0; i < n; i++) {
    square += residuals[i] * residuals[i];
    if (i > 0) product += residuals[i] * residuals[i - 1];
  }
  const rho = square > 0 ? product / square : 0;
  if (!(rho > 2 / Math.sqrt(n))) return 1;
  const held = Math.min(rho, 0.98);
  return (1 + held) / (1 - held);
}
