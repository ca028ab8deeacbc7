import { BRANCH, R0 } from '../charging/index.ts';
import type { FitResult } from '../least-squares/index.ts';
import type { CurveErrors } from './curveErrors.ts';
import { NORMAL_95, valuesOf } from './logEstimates.ts';
import type { CellToFit } from './logParameters.ts';
import type { LogProblem } from './logProblem.ts';

/** Resistance of a cell a time after a step of the current, over that of its study, with its 95 % interval. */
export interface StepResistance {
  readonly cell: number;
  /** From the step of the current on, s. */
  readonly durationS: number;
  readonly ratio: number | null;
  readonly standardError: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** Why there is no ratio or interval. */
  readonly reason: 'not-identifiable' | 'voltage-channel-off' | 'does-not-explain-the-log' | null;
}

/** Durations of the pulse test that a log is compared with, and one at which slow branches have followed, s. */
const DURATIONS_S = [10, 60, 600];
/** Rows over which the study's tables are averaged. */
const MEAN_ROWS = 50;
/** An interval that reaches from nothing to twice the value says nothing. */
const WIDEST_SHARE = 0.5;

/**
 * R0 and the branches together, where both were fitted: R(t) = R0 + Σ Rⱼ (1 − exp(−t / τⱼ)) with the fitted factors over R(t) of the study, both
 * averaged over the rows of the logs. A log at one current hardly tells R0 from the branches, and still determines what they do together:
 * the interval follows from the covariance of both.
 *
 * @param fit with both of them free
 * @param without reason by cell why it has no interval; null where it has one
 */
export function stepResistances(
  problem: LogProblem,
  fit: FitResult,
  curve: CurveErrors,
  without: (cell: number) => 'voltage-channel-off' | 'does-not-explain-the-log' | null,
): StepResistance[] {
  const values = valuesOf(fit);
  return problem.cells.flatMap((toFit, cell) => {
    const at = (['r0Factor', 'branchFactor'] as const).map((quantity) =>
      problem.parameters.findIndex((one) => one.quantity === quantity && one.cell === cell),
    );
    if (at.some((place) => place < 0)) return [];
    return DURATIONS_S.map((durationS): StepResistance => {
      const ohm = studyOhm(problem, values, toFit, cell, durationS);
      const all = ohm.r0 + ohm.branches;
      const gradient = new Float64Array(values.length);
      gradient[at[0]] = ohm.r0 / all;
      gradient[at[1]] = ohm.branches / all;
      const ratio = gradient.reduce((sum, share, p) => sum + share * values[p], 0);
      const place = { cell, durationS };
      const nothing = { ratio, standardError: null, low: null, high: null };
      const reason = without(cell);
      if (reason !== null) return { ...place, ...nothing, reason };
      const variance = varianceOf(fit, gradient);
      const standardError =
        variance === null
          ? Number.POSITIVE_INFINITY
          : Math.sqrt(
              variance +
                curve.varianceOf(gradient) +
                problem.scaleError(problem.parameters[at[0]], ratio) ** 2,
            );
      if (!(standardError <= WIDEST_SHARE * ratio))
        return { ...place, ...nothing, ratio: null, reason: 'not-identifiable' };
      const half = NORMAL_95 * standardError;
      return { ...place, ratio, standardError, low: ratio - half, high: ratio + half, reason: null };
    });
  });
}

/** Variance of a linear quantity of the fit; null where a parameter of it has none. */
function varianceOf({ covariance }: FitResult, gradient: Float64Array): number | null {
  if (covariance === null) return null;
  let variance = 0;
  gradient.forEach((a, p) => {
    gradient.forEach((b, q) => {
      if (a !== 0 && b !== 0) variance += a * b * covariance[p][q];
    });
  });
  return variance > 0 ? variance : null;
}

/** R0 and what its branches have reached after a time, by the study, as means over the rows of all logs. */
function studyOhm(
  problem: LogProblem,
  values: Float64Array,
  { cell: model }: CellToFit,
  cell: number,
  durationS: number,
): { readonly r0: number; readonly branches: number } {
  const out = new Float64Array(model.stride);
  let [r0, branches, count] = [0, 0, 0];
  problem.logs.forEach((_, l) => {
    const soc = problem.socs(values, l, cell);
    const stride = Math.max(1, Math.floor(soc.length / MEAN_ROWS));
    for (let row = 0; row < soc.length; row += stride) {
      const t = problem.temperatureC(l, cell, row);
      model.evaluate(soc[row], t, model.socStretch(soc[row]), model.temperatureStretch(t), out, 0);
      r0 += out[R0];
      // By branch R / tau and 1 / tau.
      for (let b = BRANCH; b < out.length; b += 2)
        branches += (out[b] / out[b + 1]) * (1 - Math.exp(-durationS * out[b + 1]));
      count += 1;
    }
  });
  return { r0: r0 / count, branches: branches / count };
}
