import { MAD_TO_STANDARD_DEVIATION } from './constants.ts';
import { medianOf } from './median.ts';

/**
 * Standard deviation of white noise on a slowly changing column, blind to slopes: the scaled median absolute second
 * difference, divided by √6 (the factor by which second differences widen white noise).
 *
 * @param pick whether the three rows i−1, i, i+1 may be used; all by default
 * @param fewest places that must qualify
 * @returns 0 where fewer qualify
 */
export function secondDifferenceNoise(
  values: Float64Array,
  pick: (row: number) => boolean = () => true,
  fewest = 5,
): number {
  const found: number[] = [];
  for (let i = 1; i + 1 < values.length; i++) {
    if (pick(i)) found.push(Math.abs(values[i + 1] - 2 * values[i] + values[i - 1]));
  }
  if (found.length < fewest) return 0;
  return (MAD_TO_STANDARD_DEVIATION * medianOf(found)) / Math.sqrt(6);
}
