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
 * again, and counts how often each given pair is chosen. A parametric bootstrap; cells without a stated uncertainty keep
 * their value. A run is the same whichever runs it is asked for with: those before `first` are only skipped.
 *
 * @param pair finds the partner of each cell (−1 for none) for re-drawn features.
 * @param random the source of all runs, at its beginning
 * @returns of each pair, the runs that chose it
 */
export function countChosen(
  features: readonly LotFeature[],
  pairs: readonly (readonly [number, number])[],
  pair: (features: readonly LotFeature[]) => Int32Array,
  { first, count, random }: { first: number; count: number; random: RandomSource },
): Int32Array {
  const normal = normalSource(random);
  const deviatesEach = features.reduce((sum, { values }) => sum + values.length, 0);
  for (let skipped = first * deviatesEach; skipped > 0; skipped--) normal();
  const chosen = new Int32Array(pairs.length);
  for (let run = 0; run < count; run++) {
    const drawn = features.map((feature) => ({
      ...feature,
      values: feature.values.map((value, i) => value + (feature.standardUncertainties[i] ?? 0) * normal()),
    }));
    const partner = pair(drawn);
    pairs.forEach(([a, b], i) => {
      if (partner[a] === b) chosen[i]++;
    });
  }
  return chosen;
}

/** What the counts of {@link countChosen} over all runs say. */
export function bootstrapOf(chosen: Int32Array, runs: number): BootstrapPairs {
  const frequencies = Float64Array.from(chosen, (times) => (runs === 0 ? 0 : times / runs));
  const meanKept =
    runs === 0 || chosen.length === 0 ? null : frequencies.reduce((sum, f) => sum + f, 0) / chosen.length;
  return { runs, frequencies, meanKept };
}
