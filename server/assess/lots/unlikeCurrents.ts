import { median } from '../../../fitting/statistics/index.ts';

/** Capacity and resistance depend on the current: values of currents that differ by more are not of one kind; common practice. */
const SAME_CURRENT = 1.2;

/** The cells whose value was measured with a current unlike that of most others. */
export function unlikeCurrents<T extends { readonly currentA: number | null }>(values: readonly T[]): T[] {
  const known = values.flatMap(({ currentA }) => (currentA === null ? [] : [Math.abs(currentA)]));
  if (known.length < 2) return [];
  const usualA = median(known);
  return values.filter(({ currentA }) => {
    const amountA = currentA === null ? usualA : Math.abs(currentA);
    return amountA > SAME_CURRENT * usualA || usualA > SAME_CURRENT * amountA;
  });
}
