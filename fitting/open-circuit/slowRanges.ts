import type { RecordColumns, RowRange, Step } from '../records/index.ts';
import { cumulativeChargeAh } from '../records/index.ts';

/** A current up to this share of the capacity per hour makes a slow curve: C/10 and a little; common practice. */
const SLOWEST_RATE = 0.11;
/** The share of the capacity that a slow run must move to span the curve. */
const MOST_OF_CAPACITY = 0.8;

/** Whether a run at this rate (in C) that moves this share of the rated capacity can give an open-circuit curve. */
export function isSlowRun(rateC: number, shareOfCapacity: number): boolean {
  return rateC <= SLOWEST_RATE && shareOfCapacity >= MOST_OF_CAPACITY;
}

/**
 * The first slow discharge and the first slow charge at constant current that move most of the capacity: what
 * {@link slowCurve} makes an open-circuit curve of.
 *
 * @param capacityAh the rated capacity in Ah
 * @param chargeAh charge moved at every row in Ah, counted from the record where left out
 */
export function slowRanges(
  record: RecordColumns,
  steps: readonly Step[],
  capacityAh: number,
  chargeAh: Float64Array = cumulativeChargeAh(record),
): { readonly discharge?: RowRange; readonly charge?: RowRange } {
  if (!(capacityAh > 0)) throw new RangeError(`capacityAh must be above 0, got ${capacityAh}`);
  const slow = (sign: 1 | -1): Step | undefined =>
    steps.find(
      (step) =>
        step.kind === 'constant-current' &&
        Math.sign(step.currentA) === sign &&
        isSlowRun(
          Math.abs(step.currentA) / capacityAh,
          Math.abs(chargeAh[step.end - 1] - chargeAh[step.start]) / capacityAh,
        ),
    );
  return { discharge: slow(-1), charge: slow(1) };
}
