import { cubicAt, NODES } from './exponentialWeights.ts';

/**
 * Fraction of a step at which sign × (f − threshold) first rises above zero, where f is the cubic through four node
 * values from f[at]; −1 where it does not. A start already above `epsilon` counts as a crossing at 0; a start within
 * `epsilon` does not, so that what was just located is not found again.
 */
export function firstCrossing(
  f: Float64Array,
  at: number,
  threshold: number,
  sign: 1 | -1,
  epsilon: number,
): number {
  if (sign * (f[at] - threshold) > epsilon) return 0;
  for (let a = 1; a < 4; a++) {
    if (sign * (f[at + a] - threshold) > epsilon)
      return rootBetween(f, at, threshold, sign, NODES[a - 1], NODES[a]);
  }
  return -1;
}

/** Secants that keep the root between their ends (the Illinois rule) on the cubic: low is not above, high is above. */
function rootBetween(
  f: Float64Array,
  at: number,
  threshold: number,
  sign: 1 | -1,
  from: number,
  to: number,
): number {
  let low = from;
  let high = to;
  let below = sign * (cubicAt(f, at, low) - threshold);
  let above = sign * (cubicAt(f, at, high) - threshold);
  if (below >= 0) return low;
  let side = 0;
  for (let pass = 0; pass < 60 && high - low > 1e-14; pass++) {
    const middle = low + ((high - low) * below) / (below - above);
    const value = sign * (cubicAt(f, at, middle) - threshold);
    if (Math.abs(value) < 1e-15) return middle;
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
