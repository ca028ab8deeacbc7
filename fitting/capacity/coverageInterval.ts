import { normalProbability } from '../statistics/index.ts';

/** Errors of a figure that are known by their size, all in one unit. */
export interface ErrorBudget {
  /**
   * Half-widths of errors that lie within limits and may well lie at one of them: a moment between two rows that may be
   * the moment of either row.
   */
  readonly atLimits: readonly number[];
  /** Half-widths of errors that lie anywhere within limits. */
  readonly within: readonly number[];
  /** Standard deviations of normal errors. */
  readonly normal: readonly number[];
}

/** z of a two-sided 95 % interval. */
const Z95 = 1.959963984540054;
const POINTS = 24;

/**
 * Half-width of the 95 % interval of a figure with these errors. The largest error at limits is taken to be at its limit,
 * the largest one within limits to be rectangular (JCGM 100:2008, 4.3.7), and the others are added as normal ones by
 * their standard deviations: U solves P(|N(0, σ) + a + R| ≤ U) = 0.95. An interval of 1.96 times the combined standard
 * deviation would cover a rectangular error always, instead of in 95 of 100 cases, and miss one at its limit.
 */
export function halfWidth95(budget: ErrorBudget): number {
  const atLimits = [...budget.atLimits].sort((a, b) => b - a);
  const within = [...budget.within].sort((a, b) => b - a);
  const limit = atLimits[0] ?? 0;
  const rectangle = within[0] ?? 0;
  const rest = [...atLimits.slice(1), ...within.slice(1)].map((half) => half / Math.sqrt(3));
  const sigma = Math.hypot(...rest, ...budget.normal);
  const scale = limit + rectangle + sigma;
  if (!(scale > 0)) return 0;
  const spread = Math.max(sigma, 1e-6 * scale);
  const covered = (u: number): number => {
    let sum = 0;
    for (let k = 0; k < POINTS; k++) {
      const shift = limit + rectangle * ((2 * k + 1) / POINTS - 1);
      sum += normalProbability((u - shift) / spread) - normalProbability((-u - shift) / spread);
    }
    return sum / POINTS;
  };
  let low = 0;
  let high = 4 * scale;
  for (let round = 0; round < 60; round++) {
    const middle = (low + high) / 2;
    if (covered(middle) < 0.95) low = middle;
    else high = middle;
  }
  return high;
}

/** The standard uncertainty whose 1.96-fold is a 95 % interval's half-width. */
export function standardUncertaintyOf(halfWidth: number): number {
  return halfWidth / Z95;
}
