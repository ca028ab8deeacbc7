import { median, usualRange } from '../../../fitting/statistics/index.ts';
import type { LotValue } from './lotValue.ts';

/**
 * Values far from the lot's median with their distance in robust standard deviations, the farthest first. The scale is the
 * median absolute deviation (`usualRange`, as for pairing), but not less than the typical uncertainty of one value, so that a lot more even than its
 * measurement has no outliers by noise alone.
 */
export function outliersOf<T extends Pick<LotValue, 'value' | 'uncertainty'>>(
  rows: readonly T[],
): { readonly row: T; readonly score: number }[] {
  const usual = usualRange(
    rows.map((row) => row.value),
    { leastScale: typicalUncertainty(rows) ?? 0 },
  );
  if (usual === null) return [];
  const { centre, scale, reach } = usual;
  return rows
    .filter((row) => Math.abs(row.value - centre) > reach)
    .map((row) => ({ row, score: (row.value - centre) / scale }))
    .sort((a, b) => Math.abs(b.score) - Math.abs(a.score));
}

/** Median of the standard uncertainties that the values carry; null where none does. */
export function typicalUncertainty(rows: readonly Pick<LotValue, 'uncertainty'>[]): number | null {
  const known = rows.flatMap((row) => (row.uncertainty === null ? [] : [row.uncertainty]));
  return known.length === 0 ? null : median(known);
}
