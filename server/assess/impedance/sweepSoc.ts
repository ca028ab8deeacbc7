import type { EvaluatedSweep } from '../../contract/impedance.ts';
import { countedState, isBeyondEnds } from '../parameters/ownScale.ts';
import type { ImpedanceEvaluationSettings, SweepToEvaluate } from './sweepToEvaluate.ts';

/** The charge that the first sweep of each cell which states one was at. */
export function startCharges(sweeps: readonly SweepToEvaluate[]): Map<string | null, number> {
  const starts = new Map<string | null, number>();
  for (const { cell, chargeAh } of sweeps) {
    if (chargeAh !== null && !starts.has(cell)) starts.set(cell, chargeAh);
  }
  return starts;
}

/**
 * State of charge of a sweep: as its table states it, else from the charge moved since the first sweep of the cell that
 * states one, counted from the start over the cell's own capacity, else the rated one; null with its reason where that is beyond
 * empty or full.
 *
 * @throws RangeError for a capacity that is not positive or a start outside 0…1
 */
export function sweepSoc(
  sweep: SweepToEvaluate,
  startChargeAh: ReadonlyMap<string | null, number>,
  { startSoc, ratedCapacityAh, cellCapacityAh, measuredCapacityAh }: ImpedanceEvaluationSettings,
): Pick<EvaluatedSweep, 'soc' | 'socReason' | 'counted'> {
  if (cellCapacityAh !== undefined && !(cellCapacityAh > 0))
    throw new RangeError(`The capacity of the cell is ${cellCapacityAh} Ah; it must be above 0`);
  if (ratedCapacityAh !== undefined && !(ratedCapacityAh > 0))
    throw new RangeError(`The rated capacity is ${ratedCapacityAh} Ah; it must be above 0`);
  if (startSoc !== undefined && !(startSoc >= 0 && startSoc <= 1))
    throw new RangeError(`The start SOC is ${startSoc}; it must lie between 0 and 1`);
  if (sweep.soc !== null) return { soc: sweep.soc, socReason: null, counted: null };
  const missing = (socReason: EvaluatedSweep['socReason']) => ({ soc: null, socReason, counted: null });
  const start = startChargeAh.get(sweep.cell);
  if (sweep.chargeAh === null || start === undefined) return missing('charge-not-stated');
  if (startSoc === undefined) return missing('start-soc-unknown');
  const capacityAh = cellCapacityAh ?? measuredCapacityAh ?? ratedCapacityAh;
  if (capacityAh === undefined) return missing('capacity-unknown');
  const counted = {
    fromSoc: startSoc,
    chargeAh: sweep.chargeAh - start,
    ratedCapacityAh: ratedCapacityAh ?? null,
  };
  const soc = countedState(counted, capacityAh);
  if (isBeyondEnds(soc)) return missing('soc-out-of-range');
  // A stated capacity holds, whatever is measured of the cell later.
  return { soc, socReason: null, counted: cellCapacityAh === undefined ? counted : null };
}
