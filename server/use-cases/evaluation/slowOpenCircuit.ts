import { ocvCurve } from '../../../fitting/open-circuit/ocvCurve.ts';
import { type SlowCurve, slowCurve } from '../../../fitting/open-circuit/slowCurve.ts';
import { slowRanges } from '../../../fitting/open-circuit/slowRanges.ts';
import { cumulativeChargeAh } from '../../../fitting/records/charge.ts';
import type { RecordColumns } from '../../../fitting/records/record.ts';
import type { Step } from '../../../fitting/records/steps.ts';
import type { OpenCircuitCurve } from '../../contract/openCircuit.ts';

/** A discharge that moved this share of the rated capacity counts as whole though it stopped above the cut-off; common practice. */
const WHOLE_SHARE = 0.95;
/** So far above the cut-off the last row may be: the instrument stops between two rows. */
const LAST_ROW_V = 0.02;

/**
 * The slow discharge and charge of a record as one curve. Its ends are taken as full and empty: where the discharge
 * stopped above the cut-off and short of the rated capacity they are not, and there is none, nor where the record has
 * neither run.
 *
 * @param cutoffVoltageV null: every discharge is taken to have ended empty
 */
export function findSlowCurve(
  record: RecordColumns,
  steps: readonly Step[],
  limits: { readonly ratedCapacityAh: number; readonly cutoffVoltageV: number | null },
  chargeAh: Float64Array = cumulativeChargeAh(record),
): SlowCurve | null {
  const { ratedCapacityAh, cutoffVoltageV } = limits;
  const { discharge, charge } = slowRanges(record, steps, ratedCapacityAh, chargeAh);
  if (discharge === undefined) return charge ? slowCurve(record, { charge }) : null;
  const last = discharge.end - 1;
  const isAbove = cutoffVoltageV !== null && record.voltageV[last] > cutoffVoltageV + LAST_ROW_V;
  const moved = Math.abs(chargeAh[last] - chargeAh[discharge.start]);
  return isAbove && moved < WHOLE_SHARE * ratedCapacityAh ? null : slowCurve(record, { discharge, charge });
}

/** A slow curve as the contract gives it, with dOCV/dSOC. */
export function presentSlowCurve(slow: SlowCurve): OpenCircuitCurve {
  const curve = ocvCurve(
    slow.soc.map((soc, i) => ({
      soc,
      ocvV: slow.ocvV[i],
      standardUncertaintyV: slow.standardUncertaintyV[i],
    })),
  );
  return {
    source: slow.source,
    soc: [...slow.soc],
    ocvV: [...slow.ocvV],
    standardUncertaintyV: [...slow.standardUncertaintyV],
    slopeV: slow.soc.map((soc) => curve?.slopeAt(soc) ?? 0),
    hysteresisV: [...slow.hysteresisV],
  };
}
