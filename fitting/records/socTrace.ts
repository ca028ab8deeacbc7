import { cumulativeChargeAh } from './charge.ts';
import type { RecordColumns } from './record.ts';
import type { Step } from './step.ts';

/** Why the state of charge at a row is unknown. */
export type SocReason = 'start-soc-unknown' | 'capacity-unknown' | 'gap-in-record' | 'clock-restarted';

/** State of charge along a record. */
export interface SocTrace {
  /** SOC 0…1 at a row, or null. Values outside 0…1 are kept: they tell that start or capacity is wrong. */
  socAt(row: number): number | null;
  /** Why it is null at that row; null where it is known. */
  reasonAt(row: number): SocReason | null;
  /** Charge moved since the first row in Ah, positive on charge. */
  readonly chargeAh: Float64Array;
}

/**
 * SOC by counting charge from the start. A gap in the rows hides charge: behind it SOC stays known only where
 * the record has a charge counter, or where the cell rested on both sides with voltages that agree to
 * `restAgreesV`.
 *
 * @param capacityAh the capacity that SOC 1 refers to
 * @throws RangeError where the capacity is not positive or the start SOC is outside 0…1
 */
export function socTrace(
  record: RecordColumns,
  steps: readonly Step[],
  startSoc: number | null,
  capacityAh: number | null,
  restAgreesV = 0.005,
): SocTrace {
  if (capacityAh !== null && !(capacityAh > 0)) {
    throw new RangeError(`The rated capacity is ${capacityAh} Ah; it must be above 0`);
  }
  if (startSoc !== null && !(startSoc >= 0 && startSoc <= 1)) {
    throw new RangeError(`The start SOC is ${startSoc}; it must lie between 0 and 1`);
  }
  const chargeAh = cumulativeChargeAh(record);
  let lostFrom = Infinity;
  let lostReason: SocReason = 'gap-in-record';
  if (record.chargeAh === undefined) {
    for (let s = 1; s < steps.length && lostFrom === Infinity; s++) {
      const step = steps[s];
      if (step.gapBeforeS === 0 && !step.clockRestarted) continue;
      const jump = Math.abs(record.voltageV[step.start] - record.voltageV[step.start - 1]);
      if (step.kind === 'rest' && steps[s - 1].kind === 'rest' && jump <= restAgreesV) continue;
      lostFrom = step.start;
      lostReason = step.clockRestarted ? 'clock-restarted' : 'gap-in-record';
    }
  }
  const reasonAt = (row: number): SocReason | null => {
    if (startSoc === null) return 'start-soc-unknown';
    if (capacityAh === null) return 'capacity-unknown';
    return row >= lostFrom ? lostReason : null;
  };
  return {
    chargeAh,
    reasonAt,
    socAt: (row) => (reasonAt(row) === null ? startSoc! + chargeAh[row] / capacityAh! : null),
  };
}
