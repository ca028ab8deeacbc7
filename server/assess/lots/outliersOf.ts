import { madScale, median } from '../../../fitting/statistics/robust.ts';
import type { LotValue } from './lotValue.ts';

/**
 * A value farther than this many robust standard deviations from the median is an outlier (Iglewicz and Hoaglin, How to
 * Detect and Handle Outliers, ASQC 1993).
 */
const OUTLIER_SCORE = 3.5;

/**
 * Values far from the lot's median with their distance in robust standard deviations, the farthest first. The scale is the
 * median absolute deviation, but not less than the typical uncertainty of one value, so that a lot more even than its
 * measurement has no outliers by noise alone.
 */
export function outliersOf<T extends Pick<LotValue, 'value' | 'uncertainty'>>(
  rows: readonly T[],
): { readonly row: T; readonly score: number }[] {
  if (rows.length < 5) return [];
  const values = rows.map((row) => row.value);
  const centre = median(values);
  const scale = Math.max(madScale(values), typicalUncertainty(rows) ?? 0);
  if (!(scale > 0)) return [];
  return rows
    .map((row) => ({ row, score: (row.value - centre) / scale }))
    .filter(({ score }) => Math.abs(score) > OUTLIER_SCORE)
    .sort((a, b) => Math.abs(b.score) - Math.abs(a.score));
}

/** Median of the standard uncertainties that the values carry; null where none does. */
export function typicalUncertainty(rows: readonly Pick<LotValue, 'uncertainty'>[]): number | null {
  const known = rows.flatMap((row) => (row.uncertainty === null ? [] : [row.uncertainty]));
  return known.length === 0 ? null : median(known);
}
