import type { EvaluatedSweep } from '../../../contract/impedance.ts';
import type { ImpedanceEvaluationSettings, SweepToEvaluate } from '../evaluateImpedance.ts';

/**
 * State of charge of a sweep: as its table states it, else from the charge moved since the first sweep of the cell that
 * states one, counted from the start over the rated capacity.
 *
 * @throws RangeError for a rated capacity that is not positive or a start outside 0…1
 */
export function sweepSoc(
  sweep: SweepToEvaluate,
  all: readonly SweepToEvaluate[],
  { startSoc, ratedCapacityAh }: ImpedanceEvaluationSettings,
): Pick<EvaluatedSweep, 'soc' | 'socReason'> {
  if (ratedCapacityAh !== undefined && !(ratedCapacityAh > 0))
    throw new RangeError(`The rated capacity is ${ratedCapacityAh} Ah; it must be above 0`);
  if (startSoc !== undefined && !(startSoc >= 0 && startSoc <= 1))
    throw new RangeError(`The start SOC is ${startSoc}; it must lie between 0 and 1`);
  if (sweep.soc !== null) return { soc: sweep.soc, socReason: null };
  const missing = (socReason: EvaluatedSweep['socReason']) => ({ soc: null, socReason });
  const first = all.find((one) => one.cell === sweep.cell && one.chargeAh !== null);
  if (sweep.chargeAh === null || first === undefined || first.chargeAh === null)
    return missing('charge-not-stated');
  if (startSoc === undefined) return missing('start-soc-unknown');
  if (ratedCapacityAh === undefined) return missing('capacity-unknown');
  return { soc: startSoc + (sweep.chargeAh - first.chargeAh) / ratedCapacityAh, socReason: null };
}
