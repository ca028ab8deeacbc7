import type { EvaluatedSweep } from '../../contract/impedance.ts';
import type { ImpedanceEvaluationSettings, SweepToEvaluate } from './sweepToEvaluate.ts';

/** The charge that the first sweep of each cell which states one was at. */
export function startCharges(sweeps: readonly SweepToEvaluate[]): Map<string | null, number> {
  const starts = new Map<string | null, number>();
  for (const { cell, chargeAh } of sweeps) {
    if (chargeAh !== null && !starts.has(cell)) starts.set(cell, chargeAh);
  }
  return starts;
}

/** How far beyond empty and full a counted state of charge may lie, as for pulse records; farther, start or capacity do not fit. */
const BEYOND_ENDS = 0.05;

/**
 * State of charge of a sweep: as its table states it, else from the charge moved since the first sweep of the cell that
 * states one, counted from the start over the rated capacity; null with its reason where that is beyond empty or full.
 *
 * @throws RangeError for a rated capacity that is not positive or a start outside 0…1
 */
export function sweepSoc(
  sweep: SweepToEvaluate,
  startChargeAh: ReadonlyMap<string | null, number>,
  { startSoc, ratedCapacityAh }: ImpedanceEvaluationSettings,
): Pick<EvaluatedSweep, 'soc' | 'socReason'> {
  if (ratedCapacityAh !== undefined && !(ratedCapacityAh > 0))
    throw new RangeError(`The rated capacity is ${ratedCapacityAh} Ah; it must be above 0`);
  if (startSoc !== undefined && !(startSoc >= 0 && startSoc <= 1))
    throw new RangeError(`The start SOC is ${startSoc}; it must lie between 0 and 1`);
  if (sweep.soc !== null) return { soc: sweep.soc, socReason: null };
  const missing = (socReason: EvaluatedSweep['socReason']) => ({ soc: null, socReason });
  const start = startChargeAh.get(sweep.cell);
  if (sweep.chargeAh === null || start === undefined) return missing('charge-not-stated');
  if (startSoc === undefined) return missing('start-soc-unknown');
  if (ratedCapacityAh === undefined) return missing('capacity-unknown');
  const soc = startSoc + (sweep.chargeAh - start) / ratedCapacityAh;
  return soc < -BEYOND_ENDS || soc > 1 + BEYOND_ENDS ? missing('soc-out-of-range') : { soc, socReason: null };
}
