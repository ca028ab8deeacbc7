import type { CheckedFitOptions, CheckedProblem } from '../general/checkProblem.ts';
import { type Finished, finish } from '../general/finish.ts';
import { type IterationEnd, trustRegion } from '../general/trustRegion.ts';
import { WeightedResiduals } from '../general/weightedResiduals.ts';
import type { ParameterState, RawFit } from '../inference/assembleResult.ts';
import type { FitModel, Termination } from '../types.ts';
import type { CheckedSeparable } from './checkSeparable.ts';
import type { ColumnModel } from './separableProblem.ts';

/**
 * Relative offset up to which a point is certified as an optimum; also the one at which the trust region
 * ends.
 */
export const CERTIFIED_OFFSET = 1e-4;
const TRUST_REGION: CheckedFitOptions = {
  maxIterations: 500,
  offsetTolerance: 1e-9,
  stepTolerance: 1e-14,
  costTolerance: 1e-15,
  starts: [],
  covarianceScale: 'residual',
  loss: null,
  engine: 'trust-region',
};

/**
 * Finishes a separable fit on the samples themselves, where Gram sums have lost digits or got stuck: all
 * parameters together, nothing squared. Gauss–Newton steps by QR first (`finish.ts`); if that point gets no
 * certificate or lacks rank, the trust region of the general engine runs from it and from the original start,
 * and the lowest S wins.
 *
 * @param raw the fit so far
 * @param startValues all parameters at the original start, the linear ones solved there
 * @returns the better fit, or null where the columns are not finite
 */
export function polishSeparable(
  model: ColumnModel,
  checked: CheckedSeparable,
  raw: RawFit,
  startValues: Float64Array,
): RawFit | null {
  const problem = fullProblem(model, checked, raw);
  const residuals = new WeightedResiduals(problem);
  const pick = (values: ArrayLike<number>): Float64Array =>
    Float64Array.from(problem.freeIndex, (index) =>
      Math.min(Math.max(values[index], problem.min[index]), problem.max[index]),
    );
  const free = pick(raw.values);
  const residual = new Float64Array(problem.y.length);
  const cost = residuals.evaluate(free, residual);
  if (cost === Infinity) return null;
  const here: IterationEnd = { free, residual, cost, termination: raw.termination, iterations: 0 };
  let end = here;
  let done = finish(residuals, here);
  if (!isCertified(done)) {
    for (const from of [free, pick(startValues)]) {
      const other = trustRegion(residuals, from, TRUST_REGION, 'central');
      if (other.termination === 'non-finite' || !(other.cost < done.cost || !isCertified(done))) continue;
      const finished = finish(residuals, other);
      if (!(finished.cost <= done.cost * (1 + 1e-9))) continue;
      done = finished;
      end = other;
    }
  }
  const states: ParameterState[] = raw.states.map((state) => (state === 'fixed' ? 'fixed' : 'free'));
  problem.freeIndex.forEach((index, f) => {
    states[index] = done.states[f];
  });
  return {
    ...raw,
    values: residuals.expand(done.free).slice(),
    states,
    residualSumOfSquares: done.cost,
    curvature: done.curvature,
    relativeOffset: Number.isFinite(done.relativeOffset) ? done.relativeOffset : null,
    iterations: raw.iterations + end.iterations,
    evaluations: raw.evaluations + residuals.evaluations,
    termination: terminationOf(done, end),
  };
}

function isCertified(done: Finished): boolean {
  const free = done.states.filter((state) => state === 'free').length;
  return (
    (done.gradientIsRounding || done.relativeOffset <= CERTIFIED_OFFSET) && done.curvature?.rank === free
  );
}

function terminationOf(done: Finished, end: IterationEnd): Termination {
  if (done.gradientIsRounding || done.relativeOffset <= CERTIFIED_OFFSET) {
    return end.termination === 'max-iterations' ? 'gradient' : end.termination;
  }
  return 'max-iterations';
}

/**
 * The same problem without separation: parameters linear then nonlinear, analytic Jacobian from the
 * derivative columns.
 */
function fullProblem(model: ColumnModel, checked: CheckedSeparable, raw: RawFit): CheckedProblem {
  const points = model.y.length;
  const weights = model.weights ?? new Float64Array(points).fill(1);
  const fixed = raw.states.map((state) => state === 'fixed');
  return {
    model: fullModel(model, checked),
    names: checked.names,
    units: checked.units,
    start: Float64Array.from(raw.values),
    min: Float64Array.from(raw.min),
    max: Float64Array.from(raw.max),
    fixed,
    freeIndex: fixed.flatMap((isFixed, i) => (isFixed ? [] : [i])),
    y: model.y,
    weights,
    points: raw.points,
  };
}

function fullModel(model: ColumnModel, checked: CheckedSeparable): FitModel {
  const points = model.y.length;
  const p = checked.linearCount;
  const basis = Array.from({ length: p }, () => new Float64Array(points));
  const derivatives = checked.derivatives.map(() => new Float64Array(points));
  const filled = new Float64Array(checked.nonlinearCount).fill(Number.NaN);
  let first = true;
  const fill = (parameters: Float64Array): void => {
    const nonlinear = parameters.subarray(p);
    if (!first && nonlinear.every((value, k) => value === filled[k])) return;
    model.fill(nonlinear.slice(), basis, derivatives, first);
    filled.set(nonlinear);
    first = false;
  };
  return {
    evaluate(parameters, out) {
      fill(parameters);
      for (let i = 0; i < points; i++) {
        let sum = 0;
        for (let j = 0; j < p; j++) sum += parameters[j] * basis[j][i];
        out[i] = sum;
      }
    },
    jacobian(parameters, columns) {
      fill(parameters);
      for (let j = 0; j < p; j++) columns[j].set(basis[j]);
      for (let k = p; k < columns.length; k++) columns[k].fill(0);
      checked.derivatives.forEach(({ basis: j, nonlinear: k }, e) => {
        const column = columns[p + k];
        for (let i = 0; i < points; i++) column[i] += parameters[j] * derivatives[e][i];
      });
    },
  };
}
