import { normalQuantile } from './distributions.ts';
import { checkSample } from './sample.ts';

/** A point of the normal-probability plot. */
export interface NormalPlotPoint {
  /** Index in the sample given. */
  readonly index: number;
  readonly value: number;
  /** Standard normal quantile at the value's plotting position. */
  readonly expected: number;
}

/**
 * Points of the normal-probability plot in ascending order: value against Φ⁻¹ of Filliben's median plotting
 * positions (Technometrics 17 (1975) 111; e-Handbook of Statistical Methods 1.3.3.21).
 *
 * @throws RangeError for an empty sample or naming the first value that is not finite
 */
export function normalPlot(values: ArrayLike<number>): NormalPlotPoint[] {
  checkSample(values, 1);
  const n = values.length;
  const order = Array.from({ length: n }, (_, index) => index).sort((a, b) => values[a] - values[b] || a - b);
  return order.map((index, rank) => ({
    index,
    value: values[index],
    expected: normalQuantile(fillibenPosition(rank + 1, n)),
  }));
}

function fillibenPosition(rank: number, n: number): number {
  const last = 0.5 ** (1 / n);
  if (rank === n) return last;
  if (rank === 1) return 1 - last;
  return (rank - 0.3175) / (n + 0.365);
}
