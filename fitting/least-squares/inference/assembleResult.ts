import type { Curvature } from '../../numeric/index.ts';
import type {
  CovarianceScale,
  FitEngine,
  FitResult,
  ParameterEstimate,
  Termination,
  UncertaintyReason,
} from '../types.ts';

/** Where a parameter stands at the end. */
export type ParameterState = 'free' | 'fixed' | 'at-lower-bound' | 'at-upper-bound';

/** Scale of the residuals and variance factor of the covariance of a robust fit; null: not computable. */
export interface RobustScale {
  readonly scale: number | null;
  readonly variance: number | null;
}

/** What the engines hand over. */
export interface RawFit {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly starts: ArrayLike<number | null>;
  readonly min: ArrayLike<number>;
  readonly max: ArrayLike<number>;
  readonly values: ArrayLike<number>;
  readonly states: readonly ParameterState[];
  /** Of the parameters in state `free`, in their order; null where it could not be computed. */
  readonly curvature: Curvature | null;
  readonly residualSumOfSquares: number | null;
  readonly points: number;
  readonly termination: Termination;
  readonly iterations: number;
  readonly evaluations: number;
  readonly relativeOffset: number | null;
  readonly engine: FitEngine;
  readonly covarianceScale: CovarianceScale;
  /** Only for a robust loss: stands in for S/ν. */
  readonly robust?: RobustScale;
}

/**
 * Builds the complete result.
 *
 * Statistics assumed: independent errors of variance σ²/wᵢ. Covariance = κ (JᵀWJ)⁻¹ over the free parameters,
 * with κ = S/(points − free) for the scale `residual` and κ = 1 for `weights`. It is conditional on fixed
 * parameters and on those at a bound, on nothing else.
 */
export function assembleResult(raw: RawFit): FitResult {
  const count = raw.names.length;
  const free: number[] = [];
  for (let i = 0; i < count; i++) if (raw.states[i] === 'free') free.push(i);
  const degreesOfFreedom = raw.points - free.length;
  const cost = raw.residualSumOfSquares;
  const converged = raw.termination !== 'max-iterations' && raw.termination !== 'non-finite';
  const residualVariance = cost !== null && degreesOfFreedom > 0 ? cost / degreesOfFreedom : null;
  const kappa = raw.robust ? raw.robust.variance : raw.covarianceScale === 'weights' ? 1 : residualVariance;
  const residualSd = raw.robust
    ? raw.robust.scale
    : residualVariance === null
      ? null
      : Math.sqrt(residualVariance);
  const curvature = raw.curvature;
  const parameters: ParameterEstimate[] = [];
  let complete = curvature !== null && kappa !== null && converged;
  for (let i = 0, f = 0; i < count; i++) {
    const state = raw.states[i];
    if (state !== 'free') {
      parameters.push(estimate(raw, i, null, state));
      continue;
    }
    let reason = reasonWithout(converged, curvature, kappa, f);
    let standardError: number | null = null;
    if (reason === null && curvature !== null && kappa !== null) {
      standardError = Math.sqrt(kappa * curvature.inverse[f * free.length + f]);
      if (!Number.isFinite(standardError)) {
        standardError = null;
        reason = 'not-identifiable';
      }
    }
    if (reason !== null) complete = false;
    parameters.push(estimate(raw, i, standardError, reason));
    f++;
  }
  const covariance = complete ? spread(free, count, (curvature as Curvature).inverse, kappa as number) : null;
  return {
    parameters,
    covariance,
    correlation: covariance && correlationOf(covariance),
    residualSumOfSquares: cost,
    residualSd,
    points: raw.points,
    freeParameters: free.length,
    degreesOfFreedom,
    termination: raw.termination,
    converged,
    iterations: raw.iterations,
    evaluations: raw.evaluations,
    condition: curvature?.condition ?? null,
    rank: curvature?.rank ?? 0,
    relativeOffset: raw.relativeOffset,
    engine: raw.engine,
    covarianceScale: raw.covarianceScale,
  };
}

function estimate(
  raw: RawFit,
  i: number,
  standardError: number | null,
  reason: UncertaintyReason | null,
): ParameterEstimate {
  return {
    name: raw.names[i],
    unit: raw.units[i],
    value: raw.values[i],
    start: raw.starts[i],
    min: raw.min[i],
    max: raw.max[i],
    fixed: raw.states[i] === 'fixed',
    standardError,
    reason,
  };
}

function reasonWithout(
  converged: boolean,
  curvature: Curvature | null,
  kappa: number | null,
  f: number,
): UncertaintyReason | null {
  if (!converged) return 'not-converged';
  if (curvature === null || !curvature.identifiable[f]) return 'not-identifiable';
  return kappa === null ? 'too-few-points' : null;
}

function spread(free: readonly number[], count: number, inverse: Float64Array, kappa: number): number[][] {
  const covariance: number[][] = [];
  const n = free.length;
  for (let i = 0, a = 0; i < count; i++) {
    const row: number[] = [];
    const estimated = a < n && free[a] === i;
    for (let j = 0, b = 0; j < count; j++) {
      const both = b < n && free[b] === j;
      row.push(estimated && both ? kappa * inverse[a * n + b] : 0);
      if (both) b++;
    }
    covariance.push(row);
    if (estimated) a++;
  }
  return covariance;
}

/** Correlations of a covariance; the diagonal is 1, entries of rows without variance are 0. */
export function correlationOf(covariance: readonly (readonly number[])[]): number[][] {
  const count = covariance.length;
  const correlation: number[][] = [];
  const inverseDeviations: number[] = [];
  for (let i = 0; i < count; i++) {
    const variance = covariance[i][i];
    inverseDeviations.push(variance > 0 ? 1 / Math.sqrt(variance) : 0);
    const row = covariance[i].slice();
    for (let j = 0; j < i; j++) {
      row[j] *= inverseDeviations[i] * inverseDeviations[j];
      correlation[j][i] = row[j];
    }
    row[i] = 1;
    correlation.push(row);
  }
  return correlation;
}
