import { fixed, significant } from './number.ts';

/** A difference between two cells in the unit a person uses for it, however small: mAh, mΩ and mV. */
const small: Readonly<Record<string, { readonly symbol: string; readonly factor: number }>> = {
  Ah: { symbol: 'mAh', factor: 1000 },
  'A.h': { symbol: 'mAh', factor: 1000 },
  Ohm: { symbol: 'mΩ', factor: 1000 },
  ohm: { symbol: 'mΩ', factor: 1000 },
  V: { symbol: 'mV', factor: 1000 },
  'V/d': { symbol: 'mV/d', factor: 1000 },
};

export function differenceUnit(unit: string): { readonly symbol: string; readonly factor: number } {
  return small[unit] ?? { symbol: unit === '1' ? '' : unit, factor: 1 };
}

/**
 * The size of a difference, in `differenceUnit`, with no more decimals than its standard uncertainty earns; two
 * significant digits where nobody stated one.
 */
export function differenceText(
  difference: number | null,
  standardUncertainty: number | null,
  unit: string,
): string {
  if (difference === null) return '–';
  const { factor } = differenceUnit(unit);
  const size = Math.abs(difference * factor);
  if (standardUncertainty === null || !(standardUncertainty > 0)) return significant(size, 2);
  const decimals = Math.max(0, -Math.floor(Math.log10(standardUncertainty * factor)));
  return fixed(size, Math.min(6, decimals));
}

/** The same with its unit: `3 mAh`. */
export function differenceWithUnit(
  difference: number | null,
  standardUncertainty: number | null,
  unit: string,
): string {
  const { symbol } = differenceUnit(unit);
  const text = differenceText(difference, standardUncertainty, unit);
  return symbol === '' || difference === null ? text : `${text} ${symbol}`;
}
