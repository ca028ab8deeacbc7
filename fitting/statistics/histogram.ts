import { interquartileRange } from './robust.ts';
import { checkSample } from './sample.ts';

/**
 * Counts of values between edges: bin i holds edges[i] ≤ x < edges[i + 1], the last bin also its upper edge.
 */
export interface Histogram {
  /** One more than counts, ascending. */
  readonly edges: number[];
  readonly counts: number[];
}

const MOST_BINS = 60;
const SMALLEST_WIDTH = 1e-300;

/**
 * Histogram with the bin width 2·IQR/∛n of Freedman and Diaconis (Z. Wahrscheinlichkeitstheorie 57 (1981)
 * 453), rounded up to 1, 2 or 5 times a power of ten so that the edges are round numbers. Without spread
 * between the quartiles: Sturges' number of bins.
 *
 * @throws RangeError for an empty sample or naming the first value that is not finite
 */
export function histogram(values: ArrayLike<number>): Histogram {
  checkSample(values, 1);
  let low = values[0];
  let high = values[0];
  for (let i = 1; i < values.length; i++) {
    low = Math.min(low, values[i]);
    high = Math.max(high, values[i]);
  }
  if (low === high) {
    const half = Math.abs(low) > 0 ? Math.abs(low) * 1e-3 : 1e-3;
    return { edges: [low - half, low + half], counts: [values.length] };
  }
  const spread = interquartileRange(values);
  const wanted =
    spread > 0
      ? (2 * spread) / Math.cbrt(values.length)
      : (high - low) / Math.ceil(Math.log2(values.length) + 1);
  // Never finer than the values' own rounding: the edges must be distinct numbers.
  const finest = Math.max(Math.abs(low), Math.abs(high)) * 1e-13 + SMALLEST_WIDTH;
  const width = roundWidth(Math.max(wanted, (high - low) / MOST_BINS, finest));
  const first = Math.floor(low / width);
  const bins = Math.max(1, Math.floor(high / width) - first + 1);
  const edges = Array.from({ length: bins + 1 }, (_, i) => (first + i) * width);
  edges[0] = Math.min(edges[0], low);
  edges[bins] = Math.max(edges[bins], high);
  const counts = new Array<number>(bins).fill(0);
  for (let i = 0; i < values.length; i++) {
    let bin = Math.min(bins - 1, Math.max(0, Math.floor(values[i] / width) - first));
    while (bin > 0 && values[i] < edges[bin]) bin--;
    while (bin < bins - 1 && values[i] >= edges[bin + 1]) bin++;
    counts[bin]++;
  }
  return { edges, counts };
}

function roundWidth(width: number): number {
  const power = 10 ** Math.floor(Math.log10(width));
  const share = width / power;
  return (share <= 1 ? 1 : share <= 2 ? 2 : share <= 5 ? 5 : 10) * power;
}
