import { estimateOf, type FitResult } from '../types.ts';
import { coverageFactor } from './coverageFactor.ts';
import { checkLevel, type Interval, type IntervalReason } from './interval.ts';

/**
 * Optimum with one parameter held: its cost, and the values of all parameters as a start for the next one.
 */
export interface HeldOptimum {
  readonly cost: number;
  readonly values: Float64Array;
}

/** Fits with the parameter held at `value`, beginning at `start`; null where that fails. */
export type FitHeld = (value: number, start: Float64Array) => HeldOptimum | null;

const MOST_EXPANSIONS = 60;
const MOST_ROOT_STEPS = 60;
/** A held optimum lower than the fit's by this fraction of it means that the fit was not the optimum. */
const LOWER = 1e-6;

/**
 * Profile-likelihood interval of one parameter (Bates and Watts 1988, 6.1): the values θ with (S(θ) − S)/s² ≤
 * t²(ν), S(θ) the least sum of squares with the parameter held at θ, which the caller's `held` finds. The end is found by doubling
 * steps from the estimate and a bracketed root.
 *
 * A side that does not close within its bound is `open-at-bound`; one that does not close at all is `open`
 * (`MOST_EXPANSIONS` doublings at most). `lower-optimum`: a held fit came out lower than the fit itself.
 *
 * @throws RangeError for an unknown name or a level outside (0, 1)
 */
export function profileIntervalBy(result: FitResult, name: string, held: FitHeld, level = 0.95): Interval {
  checkLevel(level);
  const { value, standardError, min, max } = estimateOf(result, name);
  const { residualSumOfSquares: best } = result;
  const residualSd = result.covarianceScale === 'weights' ? 1 : result.residualSd;
  if (residualSd === null || best === null || !result.converged) {
    const reason = result.converged ? 'no-standard-error' : 'not-converged';
    return { low: null, high: null, lowReason: reason, highReason: reason, level };
  }
  const limit = coverageFactor(result, level);
  const start = Float64Array.from(result.parameters, (parameter) => parameter.value);
  const firstStep = standardError ?? (Math.abs(value) || 1) * 0.1;
  const side = (direction: 1 | -1) =>
    endOfSide(
      { value, best, scale: residualSd, limit, bound: direction > 0 ? max : min },
      direction * firstStep * limit,
      start,
      held,
    );
  const low = side(-1);
  const high = side(1);
  return { low: low.end, high: high.end, lowReason: low.reason, highReason: high.reason, level };
}

interface Side {
  readonly value: number;
  readonly best: number;
  readonly scale: number;
  readonly limit: number;
  readonly bound: number;
}

function endOfSide(
  side: Side,
  firstStep: number,
  start: Float64Array,
  held: FitHeld,
): { end: number | null; reason: IntervalReason | null } {
  const { value, bound } = side;
  const beyond = (at: number): boolean => (firstStep > 0 ? at >= bound : at <= bound);
  if (beyond(value)) return { end: null, reason: 'open-at-bound' };
  let inner = { at: value, excess: -side.limit, values: start };
  let step = firstStep;
  for (let round = 0; round < MOST_EXPANSIONS; round++) {
    const at = beyond(inner.at + step) ? bound : inner.at + step;
    const tried = held(at, inner.values);
    if (tried && tried.cost < side.best * (1 - LOWER)) return { end: null, reason: 'lower-optimum' };
    if (!tried) {
      step /= 4;
      if (Math.abs(step) < 1e-6 * Math.abs(firstStep)) return { end: null, reason: 'not-converged' };
      continue;
    }
    const outer = { at, excess: excessOf(side, tried.cost), values: tried.values };
    if (outer.excess >= 0) return rootBetween(side, inner, outer, held);
    if (at === bound) return { end: null, reason: 'open-at-bound' };
    inner = outer;
    step *= 2;
    if (!Number.isFinite(inner.at + step)) break;
  }
  return { end: null, reason: 'open' };
}

/** √((S(θ) − S)/s²) − t: negative inside. */
function excessOf(side: Side, cost: number): number {
  return Math.sqrt(Math.max(cost - side.best, 0)) / side.scale - side.limit;
}

/** Regula falsi with the Illinois modification; ends by width or after `MOST_ROOT_STEPS`. */
function rootBetween(
  side: Side,
  inner: { at: number; excess: number; values: Float64Array },
  outer: { at: number; excess: number },
  held: FitHeld,
): { end: number | null; reason: IntervalReason | null } {
  let [a, fa, values] = [inner.at, inner.excess, inner.values];
  let [b, fb] = [outer.at, outer.excess];
  let last = 0;
  for (let round = 0; round < MOST_ROOT_STEPS; round++) {
    if (Math.abs(b - a) <= 1e-12 * Math.max(Math.abs(a), Math.abs(b))) break;
    let at = b - (fb * (b - a)) / (fb - fa);
    if (!((at - a) * (at - b) < 0)) at = (a + b) / 2;
    const tried = held(at, values);
    if (!tried) return { end: null, reason: 'not-converged' };
    const excess = excessOf(side, tried.cost);
    if (Math.abs(excess) < 1e-9 * side.limit) return { end: at, reason: null };
    if (excess < 0) {
      [a, fa, values] = [at, excess, tried.values];
      if (last < 0) fb /= 2;
    } else {
      [b, fb] = [at, excess];
      if (last > 0) fa /= 2;
    }
    last = Math.sign(excess);
  }
  return { end: (a + b) / 2, reason: null };
}
