import type { RecordColumns } from './record.ts';

/**
 * How far counter and integrated current may differ over rows without gaps, as a share of the charge moved.
 */
const AGREEMENT = 0.2;
/** Intervals above this are left out of the comparison: current may have changed in between. */
const LONGEST_INTERVAL_S = 30;

/**
 * An instrument's charge counter made fit for `RecordColumns.chargeAh`: turned round where it counts
 * discharge as positive.
 *
 * @param counterAh signed counter in Ah
 * @returns null where it is not a signed counter of this record's current (missing values, restarts, another
 *   quantity)
 */
export function usableChargeCounter(record: RecordColumns, counterAh: Float64Array): Float64Array | null {
  const { timeS, currentA } = record;
  if (counterAh.length !== timeS.length) return null;
  let moved = 0;
  let product = 0;
  let counted = 0;
  for (let i = 1; i < timeS.length; i++) {
    if (!Number.isFinite(counterAh[i]) || !Number.isFinite(counterAh[i - 1])) return null;
    const intervalS = timeS[i] - timeS[i - 1];
    if (!(intervalS > 0) || intervalS > LONGEST_INTERVAL_S) continue;
    const chargeAh = (intervalS * (currentA[i] + currentA[i - 1])) / 7200;
    const sign = Math.sign(chargeAh);
    moved += Math.abs(chargeAh);
    counted += sign * (counterAh[i] - counterAh[i - 1]);
    product += sign === 0 ? Math.abs(counterAh[i] - counterAh[i - 1]) : 0;
  }
  if (!(moved > 0) || product > AGREEMENT * moved) return null;
  if (Math.abs(Math.abs(counted) - moved) > AGREEMENT * moved) return null;
  return counted > 0 ? counterAh : counterAh.map((value) => -value);
}
