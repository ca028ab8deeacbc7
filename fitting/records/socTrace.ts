import { cumulativeChargeAh } from './charge.ts';
import type { RecordColumns } from './record.ts';
import type { Step } from './step.ts';

/** Why the state of charge at a row is unknown. */
export type SocReason = 'start-soc-unknown' | 'capacity-unknown' | 'gap-in-record' | 'clock-restarted';

/** Rests on both sides of a gap are one rest where their voltages agree to this. */
const REST_AGREES_V = 0.005;

/** What the current channel reads without current, in A, with its standard uncertainty. */
export interface CurrentZero {
  readonly levelA: number;
  readonly standardUncertaintyA: number;
}

/** State of charge along a record. */
export interface SocTrace {
  /** SOC 0…1 at a row, or null. Values outside 0…1 are kept: they tell that start or capacity is wrong. */
  socAt(row: number): number | null;
  /** Why it is null at that row; null where it is known. */
  reasonAt(row: number): SocReason | null;
  /** Standard uncertainty of the counted SOC at a row that the channel's zero brings; start and capacity are taken as given. */
  uncertaintyAt(row: number): number;
  /** Charge moved since the first row in Ah, positive on charge. */
  readonly chargeAh: Float64Array;
}

/**
 * SOC by counting charge from the start. A gap in the rows hides charge: behind it SOC stays known only where
 * the record has a charge counter, or where the cell rested on both sides with voltages that agree.
 *
 * @param capacityAh the capacity that SOC 1 refers to
 * @param zero taken off the current; null where no rest shows it
 * @throws RangeError where the capacity is not positive or the start SOC is outside 0…1
 */
export function socTrace(
  record: RecordColumns,
  steps: readonly Step[],
  startSoc: number | null,
  capacityAh: number | null,
  zero: CurrentZero | null = null,
): SocTrace {
  if (capacityAh !== null && !(capacityAh > 0)) {
    throw new RangeError(`The rated capacity is ${capacityAh} Ah; it must be above 0`);
  }
  if (startSoc !== null && !(startSoc >= 0 && startSoc <= 1)) {
    throw new RangeError(`The start SOC is ${startSoc}; it must lie between 0 and 1`);
  }
  const chargeAh = cumulativeChargeAh(record, zero?.levelA);
  const counted = record.chargeAh === undefined;
  let lostFrom = Infinity;
  let lostReason: SocReason = 'gap-in-record';
  if (counted) {
    for (let s = 1; s < steps.length && lostFrom === Infinity; s++) {
      const step = steps[s];
      if (step.gapBeforeS === 0 && !step.clockRestarted) continue;
      const jump = Math.abs(record.voltageV[step.start] - record.voltageV[step.start - 1]);
      if (step.kind === 'rest' && steps[s - 1].kind === 'rest' && jump <= REST_AGREES_V) continue;
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
    uncertaintyAt: (row) =>
      zero === null || !counted || capacityAh === null
        ? 0
        : (zero.standardUncertaintyA * (record.timeS[row] - record.timeS[0])) / 3600 / capacityAh,
    socAt: (row) => (reasonAt(row) === null ? startSoc! + chargeAh[row] / capacityAh! : null),
  };
}
