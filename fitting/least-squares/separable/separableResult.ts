import { type Curvature, factorQr } from '../../numeric/index.ts';
import { assembleResult, type ParameterState } from '../inference/assembleResult.ts';
import type { FitResult } from '../types.ts';
import { curvatureFromGram } from './curvatureFromGram.ts';
import { CERTIFIED_OFFSET, polishSeparable } from './polishSeparable.ts';
import type { SeparableIteration } from './separableIteration.ts';
import type { ColumnSource } from './separableProblem.ts';

/**
 * Condition above which Gram sums leave fewer than about 7 digits, and ratio of sums of squares above which S
 * does.
 */
const GRAM_CONDITION = 3e4;
const GRAM_RATIO = 1e9;
const LINEAR_STATES: readonly ParameterState[] = ['free', 'at-lower-bound', 'at-upper-bound', 'free'];

/** Closes one run: closing step, states, covariance, and the finish by QR where it is needed and possible. */
export function separableResult(
  run: SeparableIteration,
  columns: ColumnSource,
  start: ArrayLike<number>,
): FitResult {
  const { checked, current, nonlinear } = run;
  const { linearCount: p, nonlinearCount: q } = checked;
  const finite = run.termination !== 'non-finite';
  const { values } = run.scratch;
  const states: ParameterState[] = [];
  const starts: (number | null)[] = [];
  const min: number[] = [];
  const max: number[] = [];
  for (let i = 0; i < p + q; i++) {
    states.push(i < p ? LINEAR_STATES[current.linearState[i]] : nonlinearState(run, i - p));
    starts.push(i < p ? null : start[i - p]);
    min.push(i < p ? checked.linearMin[i] : run.min[i - p]);
    max.push(i < p ? checked.linearMax[i] : run.max[i - p]);
  }
  const curvature = finite ? fullCurvature(run, states) : null;
  values.set(current.coefficients);
  const gain = finite ? run.close(values) : 0;
  values.set(nonlinear, p);
  const certified = run.isCertified(CERTIFIED_OFFSET);
  const raw = {
    names: checked.names,
    units: checked.units,
    starts,
    min,
    max,
    values,
    states,
    curvature,
    residualSumOfSquares: finite ? current.residualSumOfSquares - gain : null,
    points: run.points,
    termination: finite && !certified ? ('max-iterations' as const) : run.termination,
    iterations: run.iterations,
    evaluations: run.passes,
    relativeOffset: finite ? Math.sqrt(Math.max(run.offsetSquared, 0)) : null,
    engine: 'separable' as const,
    covarianceScale: checked.covarianceScale,
  };
  const doubtful = !certified || run.termination === 'max-iterations' || losesDigits(run, curvature);
  const wanted = checked.polish === 'always' || (checked.polish === 'auto' && doubtful);
  const polished =
    columns && finite && wanted ? polishSeparable(columns(), checked, raw, run.valuesAt(start)) : null;
  if (polished) return assembleResult(polished);
  return assembleResult(raw);
}

/** (JᵀWJ)⁻¹ over the free parameters of the full problem. */
function fullCurvature(run: SeparableIteration, states: readonly ParameterState[]): Curvature {
  const { normal, inverse, scale } = run.scratch;
  const free: number[] = [];
  for (let i = 0; i < states.length; i++) if (states[i] === 'free') free.push(i);
  fillNormal(run, free, normal);
  const full = curvatureFromGram(normal, free.length, inverse, scale);
  if (full) return full;
  fillNormal(run, free, normal);
  return deficientCurvature(normal, free.length);
}

function nonlinearState(run: SeparableIteration, k: number): ParameterState {
  if (run.checked.fixed[k]) return 'fixed';
  if (run.nonlinear[k] <= run.min[k]) return 'at-lower-bound';
  if (run.nonlinear[k] >= run.max[k]) return 'at-upper-bound';
  return 'free';
}

function losesDigits(run: SeparableIteration, curvature: Curvature | null): boolean {
  const { gram, side, residualSumOfSquares: cost } = run.current;
  const condition = curvature?.condition ?? null;
  return condition === null || condition > GRAM_CONDITION || gram[side * side - 1] > GRAM_RATIO * cost;
}

/** Fills JᵀWJ over the free parameters of the full problem, [φ, J], from the Gram sums. */
function fillNormal(run: SeparableIteration, free: readonly number[], normal: Float64Array): void {
  const { gram, side, cross, slopes, basisCount: p, nonlinearCount: q } = run.current;
  const n = free.length;
  for (let a = 0; a < n; a++) {
    for (let b = a; b < n; b++) {
      const i = free[a];
      const j = free[b];
      let entry = 0;
      if (j < p) entry = gram[i * side + j];
      else if (i < p) entry = cross[i * q + j - p];
      else entry = slopes[(i - p) * q + j - p];
      normal[a * n + b] = entry;
      normal[b * n + a] = entry;
    }
  }
}

/**
 * With deficient rank: which parameters are confounded (null vectors of the normal matrix), variances of the
 * others.
 */
function deficientCurvature(normal: Float64Array, n: number): Curvature {
  const columns: Float64Array[] = [];
  for (let j = 0; j < n; j++) {
    const own = Math.sqrt(normal[j * n + j]) || 1;
    columns.push(
      Float64Array.from(
        { length: n },
        (_, i) => normal[i * n + j] / own / (Math.sqrt(normal[i * n + i]) || 1),
      ),
    );
  }
  const factor = factorQr(columns, 1e-12);
  const kept = Array.from(factor.permutation.subarray(0, factor.rank)).sort((a, b) => a - b);
  const part = new Float64Array(kept.length ** 2);
  kept.forEach((i, a) => {
    kept.forEach((j, b) => {
      part[a * kept.length + b] = normal[i * n + j];
    });
  });
  const solved = curvatureFromGram(part, kept.length);
  const identifiable = new Array<boolean>(n).fill(false);
  const inverse = new Float64Array(n * n).fill(Number.NaN);
  const confounded = nullSupport(factor, n);
  kept.forEach((i, a) => {
    identifiable[i] = solved !== null && !confounded[i];
    kept.forEach((j, b) => {
      if (solved) inverse[i * n + j] = solved.inverse[a * kept.length + b];
    });
  });
  return { inverse, identifiable, condition: null, rank: factor.rank };
}

function nullSupport(factor: ReturnType<typeof factorQr>, n: number): boolean[] {
  const { rank, columns, diagonal, permutation } = factor;
  const confounded = new Array<boolean>(n).fill(false);
  for (let j = rank; j < n; j++) {
    confounded[permutation[j]] = true;
    const weights = new Float64Array(rank);
    for (let i = rank - 1; i >= 0; i--) {
      let sum = columns[j][i];
      for (let k = i + 1; k < rank; k++) sum -= columns[k][i] * weights[k];
      weights[i] = sum / diagonal[i];
      if (Math.abs(weights[i]) > 1e-6) confounded[permutation[i]] = true;
    }
  }
  return confounded;
}
