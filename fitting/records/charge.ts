import type { RecordColumns } from './record.ts';

/**
 * Charge moved since the first row in Ah, positive on charge, at every row: the trapezoid rule on the
 * recorded current, or the instrument's own counter where the record has one. A clock restart moves no
 * charge.
 *
 * @param zeroA what the channel reads without current, taken off every reading; a counter is left as it is
 */
export function cumulativeChargeAh(record: RecordColumns, zeroA = 0): Float64Array {
  const { timeS, currentA, chargeAh } = record;
  const moved = new Float64Array(timeS.length);
  if (chargeAh !== undefined) {
    for (let i = 1; i < moved.length; i++) moved[i] = chargeAh[i] - chargeAh[0];
    return moved;
  }
  for (let i = 1; i < moved.length; i++) {
    const intervalS = Math.max(0, timeS[i] - timeS[i - 1]);
    moved[i] = moved[i - 1] + (intervalS * (currentA[i] + currentA[i - 1] - 2 * zeroA)) / 7200;
  }
  return moved;
}
