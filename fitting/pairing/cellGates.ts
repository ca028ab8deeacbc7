import { usualRange } from '../statistics/index.ts';

/** What a single cell is judged by, before any pair is looked at. */
export interface GatedFeature {
  /** One value per cell; null where it is missing. */
  readonly values: readonly (number | null)[];
  readonly minimum: number | null;
  readonly maximum: number | null;
  /** Whether a cell without a value is out. */
  readonly required: boolean;
  /** Least scale in which distances from the median are counted: a smaller difference matters to nobody. */
  readonly leastScale: number;
}

/** Why a cell is not offered for pairing, by which feature, at which value and limit. */
export interface GateVerdict {
  readonly reason: 'missing-value' | 'outside-cell-limit' | 'outlier';
  readonly feature: number;
  readonly value: number | null;
  readonly limit: number | null;
}

/**
 * Judges each cell by its own values: missing ones, hard limits, then distance from the lot's median in robust
 * standard deviations by `usualRange`. The median and the deviation are taken over the cells that pass the limits, so that cells already out do not
 * widen them; a feature whose scale is zero marks no outliers.
 *
 * @param outlierLimit robust standard deviations; null for no such gate.
 * @returns one verdict per cell, null for a cell that passes.
 */
export function judgeCells(
  features: readonly GatedFeature[],
  outlierLimit: number | null,
): (GateVerdict | null)[] {
  const count = features[0]?.values.length ?? 0;
  const verdicts: (GateVerdict | null)[] = Array.from({ length: count }, (_, i) => judgeAlone(features, i));
  if (outlierLimit === null) return verdicts;
  const before = verdicts.slice();
  features.forEach(({ values, leastScale }, feature) => {
    const passing = values.filter((value, i): value is number => value !== null && before[i] === null);
    const usual = usualRange(passing, { limit: outlierLimit, leastScale });
    if (usual === null) return;
    values.forEach((value, i) => {
      if (verdicts[i] !== null || value === null) return;
      if (Math.abs(value - usual.centre) <= usual.reach) return;
      verdicts[i] = {
        reason: 'outlier',
        feature,
        value,
        limit: value < usual.centre ? usual.centre - usual.reach : usual.centre + usual.reach,
      };
    });
  });
  return verdicts;
}

function judgeAlone(features: readonly GatedFeature[], cell: number): GateVerdict | null {
  const missing = features.findIndex(({ values, required }) => required && values[cell] === null);
  if (missing !== -1) return { reason: 'missing-value', feature: missing, value: null, limit: null };
  for (let feature = 0; feature < features.length; feature++) {
    const { values, minimum, maximum } = features[feature];
    const value = values[cell];
    if (value === null) continue;
    const limit =
      minimum !== null && value < minimum ? minimum : maximum !== null && value > maximum ? maximum : null;
    if (limit !== null) return { reason: 'outside-cell-limit', feature, value, limit };
  }
  return null;
}
