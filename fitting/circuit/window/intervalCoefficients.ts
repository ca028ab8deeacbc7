import type { RowRange } from '../../records/index.ts';

/**
 * Coefficients of the branch recursion for current that is linear between rows (DOE/ID-11069, appendix D).
 * With x = Δt/τ, E = e^(−x), f = (1 − E)/x:
 *
 *   uₖ = E·uₖ₋₁ + (1 − f)·iₖ + (f − E)·iₖ₋₁
 *   ∂uₖ/∂ln τ = E·∂uₖ₋₁/∂ln τ + xE·uₖ₋₁ + (E − f)·iₖ + (f − E − xE)·iₖ₋₁
 *
 * They are worked out once for every length of interval that occurs, so that equal intervals cost no
 * exponential each.
 */
export class IntervalCoefficients {
  /** Which entry of the tables belongs to the interval before a row. */
  readonly indexOf: Int32Array;
  readonly keep: Float64Array;
  readonly here: Float64Array;
  readonly before: Float64Array;
  readonly fade: Float64Array;
  readonly hereSlope: Float64Array;
  readonly beforeSlope: Float64Array;
  private readonly lengths: Float64Array;

  /** @param ranges which intervals are covered: interval k leads from row k−1 to row k */
  constructor(window: { readonly timeS: Float64Array }, ranges: readonly RowRange[]) {
    const { timeS } = window;
    this.indexOf = new Int32Array(ranges.length > 0 ? timeS.length : 0);
    const known = new Map<number, number>();
    const lengths: number[] = [];
    for (const run of ranges) {
      for (let k = run.start; k < run.end; k++) {
        const length = Math.round((timeS[k] - timeS[k - 1]) * 1e9) / 1e9;
        let index = known.get(length);
        if (index === undefined) {
          index = lengths.length;
          known.set(length, index);
          lengths.push(length);
        }
        this.indexOf[k] = index;
      }
    }
    this.lengths = Float64Array.from(lengths);
    this.keep = new Float64Array(lengths.length);
    this.here = new Float64Array(lengths.length);
    this.before = new Float64Array(lengths.length);
    this.fade = new Float64Array(lengths.length);
    this.hereSlope = new Float64Array(lengths.length);
    this.beforeSlope = new Float64Array(lengths.length);
  }

  /** Works out the tables for one time constant. */
  prepare(tauS: number): void {
    const { lengths, keep, here, before, fade, hereSlope, beforeSlope } = this;
    for (let e = 0; e < lengths.length; e++) {
      const x = lengths[e] / tauS;
      const decay = Math.exp(-x);
      // f − E; the series where the quotient would cancel
      const small = x < 1e-3;
      const tail = small ? x * (0.5 - x * (1 / 3 - x * (1 / 8 - x / 30))) : (1 - decay) / x - decay;
      keep[e] = decay;
      here[e] = small ? x * (0.5 - x * (1 / 6 - x * (1 / 24 - x / 120))) : 1 - tail - decay;
      before[e] = tail;
      fade[e] = x * decay;
      hereSlope[e] = -tail;
      beforeSlope[e] = tail - x * decay;
    }
  }
}

const made = new WeakMap<readonly RowRange[], IntervalCoefficients>();

/**
 * The tables of ranges of a window, made once for each list of ranges: whoever uses them prepares them anew for every time
 * constant, so fits on one window may share them.
 */
export function sharedCoefficients(
  window: { readonly timeS: Float64Array },
  ranges: readonly RowRange[],
): IntervalCoefficients {
  const known = made.get(ranges);
  if (known !== undefined) return known;
  const coefficients = new IntervalCoefficients(window, ranges);
  made.set(ranges, coefficients);
  return coefficients;
}
