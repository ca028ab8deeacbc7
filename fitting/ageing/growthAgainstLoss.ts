import { fitLinear } from '../least-squares/index.ts';
import { varianceInflation } from './lawFit.ts';

/** Relative resistance growth per relative capacity loss. */
export interface GrowthAgainstLoss {
  readonly slope: number | null;
  readonly standardError: number | null;
  readonly correlation: number | null;
  readonly points: number;
  readonly reason: 'too-few-points' | 'no-resistance' | 'not-identifiable' | null;
}

/**
 * Slope of R/R₀ − 1 against 1 − Q/Q₀ for one cell, by a straight line with a free intercept. The standard error is
 * grown by the autocorrelation of the residuals.
 *
 * @param loss 1 − Q/Q₀ at each age where both were measured, in order of age
 * @param growth R/R₀ − 1 at the same ages
 */
export function growthAgainstLoss(loss: Float64Array, growth: Float64Array): GrowthAgainstLoss {
  const points = loss.length;
  const none = { slope: null, standardError: null, correlation: null, points };
  if (growth.length !== points) {
    throw new RangeError(`growth holds ${growth.length} values and loss ${points}: they must be as many`);
  }
  if (points < 5) return { ...none, reason: 'too-few-points' };
  const fit = fitLinear({ columns: [new Float64Array(points).fill(1), loss], y: growth });
  const [intercept, slope] = fit.parameters;
  if (slope.standardError === null) return { ...none, reason: 'not-identifiable' };
  const residuals = growth.map((value, i) => value - intercept.value - slope.value * loss[i]);
  const standardError = slope.standardError * Math.sqrt(varianceInflation(residuals));
  return {
    slope: slope.value,
    standardError,
    correlation: correlationOf(loss, growth),
    points,
    reason: null,
  };
}

function correlationOf(a: Float64Array, b: Float64Array): number | null {
  const n = a.length;
  const mean = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0) / n;
  const [ma, mb] = [mean(a), mean(b)];
  let saa = 0;
  let sbb = 0;
  let sab = 0;
  for (let i = 0; i < n; i++) {
    saa += (a[i] - ma) ** 2;
    sbb += (b[i] - mb) ** 2;
    sab += (a[i] - ma) * (b[i] - mb);
  }
  return saa > 0 && sbb > 0 ? sab / Math.sqrt(saa * sbb) : null;
}
