import { assembleResult } from '../inference/assembleResult.ts';
import type { CovarianceScale, FitResult, Termination } from '../types.ts';
import { fitLine } from './line.ts';

/** A straight line with errors in both coordinates. Weights are 1/σ². */
export interface YorkProblem {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly xWeights: Float64Array;
  readonly yWeights: Float64Array;
  /** Correlation of the errors of x and y at each point. Default 0. */
  readonly correlation?: Float64Array;
}

const MOST_ROUNDS = 200;
const SETTLED = 1e-15;
const LATE_SETTLED = 1e-13;

/**
 * York's line (York et al., Am. J. Phys. 72 (2004) 367, equations 13): minimises the weighted distances in
 * both coordinates. The standard errors are those of maximum likelihood at the adjusted points.
 *
 * Both conventions for the errors are published, so say which: the default `covarianceScale: 'weights'` takes
 * the weights as known; `'residual'` multiplies the covariance by S/(n − 2).
 *
 * @returns parameters `intercept` and `slope`; `residualSumOfSquares` is York's S
 * @throws RangeError for fewer than 2 points, lengths that differ, weights ≤ 0 or correlations outside (−1,
 * 1)
 */
export function fitYorkLine(
  problem: YorkProblem,
  options: { readonly covarianceScale?: CovarianceScale } = {},
): FitResult {
  check(problem);
  const { x, y } = problem;
  let slope = fitLine(x, y).parameters[1].value;
  let termination: Termination = 'max-iterations';
  let rounds = 0;
  let now = adjust(problem, slope);
  while (rounds < MOST_ROUNDS && termination === 'max-iterations') {
    rounds++;
    const change = Math.abs(now.nextSlope - slope);
    slope = now.nextSlope;
    now = adjust(problem, slope);
    // The equations settle linearly; after many rounds their rounding is the limit.
    if (!Number.isFinite(slope)) termination = 'non-finite';
    else if (change <= (rounds > 50 ? LATE_SETTLED : SETTLED) * Math.abs(slope)) termination = 'step';
  }
  return yorkResult(problem, slope, now, { termination, rounds }, options.covarianceScale ?? 'weights');
}

function yorkResult(
  { x, y }: YorkProblem,
  slope: number,
  at: ReturnType<typeof adjust>,
  { termination, rounds }: { readonly termination: Termination; readonly rounds: number },
  covarianceScale: CovarianceScale,
): FitResult {
  const { total, adjustedMean, spread, weights } = at;
  const intercept = at.meanY - slope * at.meanX;
  let cost = 0;
  for (let i = 0; i < x.length; i++) cost += weights[i] * (y[i] - slope * x[i] - intercept) ** 2;
  const slopeVariance = 1 / spread;
  const shared = -adjustedMean * slopeVariance;
  const inverse = Float64Array.of(
    1 / total + adjustedMean ** 2 * slopeVariance,
    shared,
    shared,
    slopeVariance,
  );
  const identifiable = spread > 0;
  return assembleResult({
    names: ['intercept', 'slope'],
    units: ['1', '1'],
    starts: [null, null],
    min: [-Infinity, -Infinity],
    max: [Infinity, Infinity],
    values: [intercept, slope],
    states: ['free', 'free'],
    curvature: {
      inverse,
      identifiable: [identifiable, identifiable],
      condition: conditionOf(total, adjustedMean, spread),
      rank: identifiable ? 2 : 1,
    },
    residualSumOfSquares: termination === 'non-finite' ? null : cost,
    points: x.length,
    termination,
    iterations: rounds,
    evaluations: rounds + 1,
    relativeOffset: null,
    engine: 'linear',
    covarianceScale,
  });
}

/** √(‖S‖₁‖S⁻¹‖₁) of the unit-diagonal normal matrix, both norms 1 + |ρ| over 1 and over 1 − ρ². */
function conditionOf(total: number, mean: number, spread: number): number | null {
  if (!(spread > 0)) return null;
  const rho = Math.abs(mean) / Math.sqrt(mean ** 2 + spread / total);
  return Math.sqrt((1 + rho) / (1 - rho));
}

function check(problem: YorkProblem): void {
  const { x, correlation } = problem;
  if (x.length < 2) throw new RangeError(`x holds ${x.length} points, a line needs at least 2`);
  for (const name of ['y', 'xWeights', 'yWeights'] as const) {
    if (problem[name].length !== x.length) {
      throw new RangeError(
        `${name} holds ${problem[name].length} values and x ${x.length}: they must be as many`,
      );
    }
  }
  for (let i = 0; i < x.length; i++) {
    for (const name of ['x', 'y'] as const) {
      if (!Number.isFinite(problem[name][i])) throw new RangeError(`${name}[${i}] must be finite`);
    }
    for (const name of ['xWeights', 'yWeights'] as const) {
      const weight = problem[name][i];
      if (!(weight > 0 && weight < Infinity))
        throw new RangeError(`${name}[${i}] is ${weight}: it must be positive`);
    }
    const r = correlation?.[i] ?? 0;
    if (!(Math.abs(r) < 1)) throw new RangeError(`correlation[${i}] is ${r}: it must lie in (−1, 1)`);
  }
}

/** One round of York's equations at a slope: weights, weighted means, adjusted points, next slope. */
function adjust(problem: YorkProblem, slope: number) {
  const { x, y, xWeights, yWeights, correlation } = problem;
  const n = x.length;
  const weights = new Float64Array(n);
  let total = 0;
  let meanX = 0;
  let meanY = 0;
  const root = (i: number): number => Math.sqrt(xWeights[i] * yWeights[i]);
  for (let i = 0; i < n; i++) {
    const r = correlation?.[i] ?? 0;
    weights[i] =
      (xWeights[i] * yWeights[i]) / (xWeights[i] + slope ** 2 * yWeights[i] - 2 * slope * root(i) * r);
    total += weights[i];
    meanX += weights[i] * x[i];
    meanY += weights[i] * y[i];
  }
  meanX /= total;
  meanY /= total;
  let up = 0;
  let down = 0;
  let adjustedMean = 0;
  const beta = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const u = x[i] - meanX;
    const v = y[i] - meanY;
    const r = correlation?.[i] ?? 0;
    beta[i] = weights[i] * (u / yWeights[i] + (slope * v) / xWeights[i] - ((slope * u + v) * r) / root(i));
    up += weights[i] * beta[i] * v;
    down += weights[i] * beta[i] * u;
    adjustedMean += (weights[i] * (meanX + beta[i])) / total;
  }
  let spread = 0;
  for (let i = 0; i < n; i++) spread += weights[i] * (meanX + beta[i] - adjustedMean) ** 2;
  return { weights, total, meanX, meanY, adjustedMean, spread, nextSlope: up / down };
}
