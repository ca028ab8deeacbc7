import type { RandomSource } from '../statistics/index.ts';
import { normalSource } from '../statistics/index.ts';
import type { LotFeature } from './lotFeature.ts';

/** How often each pair was chosen when the measurements were drawn again. */
export interface BootstrapPairs {
  readonly runs: number;
  /** Share of the runs in which each given pair was chosen again. */
  readonly frequencies: Float64Array;
  /** Mean share of the given pairs that a run kept; null without pairs or runs. */
  readonly meanKept: number | null;
}

/**
 * Draws every value again from a normal distribution about the measured one with its standard uncertainty, pairs
 * again, and counts. A parametric bootstrap; cells without a stated uncertainty keep their value.
 *
 * @param pair finds the partner of each cell (−1 for none) for re-drawn features.
 */
export function bootstrapPairs(
  features: readonly LotFeature[],
  pairs: readonly (readonly [number, number])[],
  pair: (features: readonly LotFeature[]) => Int32Array,
  runs: number,
  random: RandomSource,
): BootstrapPairs {
  const normal = normalSource(random);
  const chosen = new Int32Array(pairs.length);
  for (let run = 0; run < runs; run++) {
    const drawn = features.map((feature) => ({
      ...feature,
      values: feature.values.map((value, i) => value + (feature.standardUncertainties[i] ?? 0) * normal()),
    }));
    const partner = pair(drawn);
    pairs.forEach(([a, b], i) => {
      if (partner[a] === b) chosen[i]++;
    });
  }
  const frequencies = Float64Array.from(chosen, (times) => (runs === 0 ? 0 : times / runs));
  const meanKept =
    runs === 0 || pairs.length === 0 ? null : frequencies.reduce((sum, f) => sum + f, 0) / pairs.length;
  return { runs, frequencies, meanKept };
}
