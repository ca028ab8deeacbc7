/**
 * What fixes the stack current at a moment. With V_k the cell voltages and I the stack current:
 *
 *   current   I = currentA
 *   voltage   Σ w_k V_k + seriesOhm I = targetV
 *   supply    value(I, Σ V_k) = target
 *
 * Constant voltage on one cell has one w_k of 1. A supply's law is any smooth function that rises with both of its arguments.
 */
export type ControlLaw = { readonly kind: 'current'; readonly currentA: number } | VoltageLaw | SupplyLaw;

export interface VoltageLaw {
  readonly kind: 'voltage';
  readonly weights: Float64Array;
  readonly seriesOhm: number;
  readonly targetV: number;
}

export interface SupplyLaw {
  readonly kind: 'supply';
  /** Of the stack current in A and the sum of the cell voltages in V; in the unit of `target`. */
  readonly value: (stackA: number, cellsV: number) => number;
  readonly target: number;
}

/** Slopes of a supply's law against current and voltage at a point, by central differences. */
export function lawSlopes(law: SupplyLaw, stackA: number, cellsV: number): { byA: number; byV: number } {
  const a = 1e-6 * Math.max(Math.abs(stackA), 1e-3);
  const v = 1e-6 * Math.max(Math.abs(cellsV), 1);
  return {
    byA: (law.value(stackA + a, cellsV) - law.value(stackA - a, cellsV)) / (2 * a),
    byV: (law.value(stackA, cellsV + v) - law.value(stackA, cellsV - v)) / (2 * v),
  };
}

const LARGEST_A = 1e7;

/**
 * The smallest current at which a supply's law is met by a stack of voltage offsetV + slopeOhm I; 0 where it is exceeded
 * without any current, Infinity where it never is.
 */
export function currentUnderSupply(law: SupplyLaw, offsetV: number, slopeOhm: number): number {
  const excess = (a: number) => law.value(a, offsetV + slopeOhm * a) - law.target;
  let [low, below] = [0, excess(0)];
  if (below >= 0) return 0;
  let high = 1e-3;
  let above = excess(high);
  while (above < 0) {
    low = high;
    below = above;
    high *= 2;
    if (high > LARGEST_A) return Number.POSITIVE_INFINITY;
    above = excess(high);
  }
  // Secants that keep the root between their ends (the Illinois rule).
  let side = 0;
  for (let pass = 0; pass < 100 && high - low > 1e-15 * high; pass++) {
    const middle = Math.min(Math.max(low + ((high - low) * below) / (below - above), low), high);
    const value = excess(middle);
    if (value === 0 || middle === low || middle === high) return middle;
    if (value < 0) {
      low = middle;
      below = value;
      if (side === -1) above /= 2;
      side = -1;
    } else {
      high = middle;
      above = value;
      if (side === 1) below /= 2;
      side = 1;
    }
  }
  return (low + high) / 2;
}
