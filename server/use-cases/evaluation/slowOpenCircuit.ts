import { ocvCurve } from '../../../fitting/open-circuit/ocvCurve.ts';
import { type SlowCurve, slowCurve } from '../../../fitting/open-circuit/slowCurve.ts';
import { slowRanges } from '../../../fitting/open-circuit/slowRanges.ts';
import type { RecordColumns } from '../../../fitting/records/record.ts';
import type { Step } from '../../../fitting/records/steps.ts';
import type { OpenCircuitCurve } from '../../contract/openCircuit.ts';

/** The slow discharge and charge of a record as one curve; null where it has neither. */
export function findSlowCurve(
  record: RecordColumns,
  steps: readonly Step[],
  ratedCapacityAh: number,
  chargeAh?: Float64Array,
): SlowCurve | null {
  const ranges = slowRanges(record, steps, ratedCapacityAh, chargeAh);
  return ranges.discharge || ranges.charge ? slowCurve(record, ranges) : null;
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
