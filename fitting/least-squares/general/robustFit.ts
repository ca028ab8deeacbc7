import { curvatureFromQr, factorQr } from '../../numeric/index.ts';
import type { FitResult } from '../types.ts';
import type { CheckedFitOptions, RobustLoss } from './checkProblem.ts';
import { applyLoss } from './robustLoss.ts';
import { bestRun, type Run, resultOf } from './runs.ts';
import type { WeightedResiduals } from './weightedResiduals.ts';

const MOST_ROUNDS = 100;
/**
 * Rounds end when no parameter moves by more than this fraction of its standard error's scale or of itself.
 */
const SETTLED = 1e-9;
/** Median absolute deviation of a standard normal. */
const NORMAL_MAD = 0.6744897501960817;

/**
 * M-estimation by iteratively reweighted least squares (Huber and Ronchetti, Robust Statistics, 2nd ed.,
 * 7.8). The scale s is the median of |√w r| / 0.6745, renewed every round. Tukey's loss has several minima,
 * so it starts from the Huber fit.
 *
 * Covariance: K² [Σψ²/(n − p)] s² / (mean ψ′)² (JᵀWJ)⁻¹ with K = 1 + (p/n) var ψ′/(mean ψ′)² (their 7.81);
 * `residualSd` is s. S is the plain weighted sum of squares at the robust values. With a scale of zero (half
 * the points fitted exactly) there is no covariance.
 */
export function robustFit(
  residuals: WeightedResiduals,
  options: CheckedFitOptions,
  loss: Required<RobustLoss>,
): FitResult {
  const base = residuals.root.slice();
  let run = bestRun(residuals, options);
  const stages: Required<RobustLoss>[] =
    loss.kind === 'tukey' ? [{ kind: 'huber', tuning: 1.345 }, loss] : [loss];
  let iterations = run.iterations;
  let settled = run.termination !== 'non-finite';
  for (const stage of stages) {
    if (run.termination === 'non-finite') break;
    settled = false;
    for (let round = 0; round < MOST_ROUNDS && !settled; round++) {
      const scale = reweight(residuals, base, run, stage);
      if (scale === 0) break;
      const next = bestRun(residuals, {
        ...options,
        engine: 'trust-region',
        starts: [residuals.expand(run.free).slice()],
      });
      iterations += next.iterations;
      settled = run.free.every(
        (value, f) => Math.abs(next.free[f] - value) <= SETTLED * spread(run, next, f, scale),
      );
      run = next;
    }
  }
  return describe(residuals, base, { ...run, iterations }, options, loss, settled);
}

/**
 * Size against which a change of parameter f is small: its value or its standard error, whichever is larger.
 */
function spread(run: Run, next: Run, f: number, scale: number): number {
  const free = run.states.flatMap((state, i) => (state === 'free' ? [i] : []));
  const m = free.indexOf(f);
  const variance = m >= 0 && run.curvature ? run.curvature.inverse[m * free.length + m] : 0;
  return Math.max(Math.abs(next.free[f]), Number.isFinite(variance) ? scale * Math.sqrt(variance) : 0);
}

/** √w r of the points that take part, at the run's values. */
function plainResiduals(residuals: WeightedResiduals, base: Float64Array, run: Run): Float64Array {
  residuals.root.set(base);
  const plain = new Float64Array(base.length);
  residuals.evaluate(run.free, plain);
  return plain;
}

/** median |r| / 0.6745 of the points with weight. */
function scaleOf(plain: Float64Array, base: Float64Array): number {
  const sizes = plain
    .filter((_, i) => base[i] > 0)
    .map(Math.abs)
    .sort();
  const middle = sizes.length >> 1;
  const mid = sizes.length % 2 === 1 ? sizes[middle] : (sizes[middle - 1] + sizes[middle]) / 2;
  return mid / NORMAL_MAD;
}

function reweight(
  residuals: WeightedResiduals,
  base: Float64Array,
  run: Run,
  loss: Required<RobustLoss>,
): number {
  const plain = plainResiduals(residuals, base, run);
  const scale = scaleOf(plain, base);
  if (scale === 0) return 0;
  for (let i = 0; i < base.length; i++) {
    residuals.root[i] = base[i] * Math.sqrt(applyLoss(loss, plain[i] / scale).weight);
  }
  return scale;
}

function describe(
  residuals: WeightedResiduals,
  base: Float64Array,
  run: Run,
  options: CheckedFitOptions,
  loss: Required<RobustLoss>,
  settled: boolean,
): FitResult {
  if (run.termination === 'non-finite') return resultOf(residuals, run, options);
  const plain = plainResiduals(residuals, base, run);
  const scale = scaleOf(plain, base);
  const { points } = residuals.problem;
  const estimated = run.states.filter((state) => state === 'free').length;
  let cost = 0;
  let square = 0;
  let slope = 0;
  let slopeSquare = 0;
  for (let i = 0; i < plain.length; i++) {
    cost += plain[i] * plain[i];
    if (base[i] === 0 || scale === 0) continue;
    const { psi, derivative } = applyLoss(loss, plain[i] / scale);
    square += psi * psi;
    slope += derivative / points;
    slopeSquare += (derivative * derivative) / points;
  }
  const correction = 1 + (estimated / points) * (slopeSquare / slope ** 2 - 1);
  const variance = (correction ** 2 * (square / (points - estimated)) * scale ** 2) / slope ** 2;
  const atBase = finishAtBase(residuals, run);
  const usable = scale > 0 && slope > 0 && points > estimated;
  return resultOf(
    residuals,
    { ...run, ...atBase, cost, termination: settled ? run.termination : 'max-iterations' },
    options,
    usable ? { scale, variance } : { scale: null, variance: null },
  );
}

/** (JᵀWJ)⁻¹ with the base weights, for the covariance. */
function finishAtBase(residuals: WeightedResiduals, run: Run): Pick<Run, 'curvature'> {
  const columns = Array.from(run.free, () => new Float64Array(residuals.root.length));
  residuals.jacobian(run.free, columns, 'fourth-order');
  const moving = columns.filter((_, f) => run.states[f] === 'free');
  return { curvature: curvatureFromQr(factorQr(moving)) };
}
