import {
  ocvCurve,
  runPolarisation,
  type SlowCurve,
  slowCurve,
  slowRanges,
} from '../../../fitting/open-circuit/index.ts';
import type { RecordColumns, RowRange, Step } from '../../../fitting/records/index.ts';
import { columnResolution, cumulativeChargeAh } from '../../../fitting/records/index.ts';
import type { OpenCircuitCurve } from '../../contract/openCircuit.ts';
import type { ReasonCode } from '../../contract/reasons.ts';

/** A run that moved this share of the rated capacity counts as whole wherever it stopped; common practice. */
const WHOLE_SHARE = 0.95;
/** Beyond this difference charge and discharge did not go between the same ends; an offset of the current explains less. */
const UNLIKE_AMOUNTS = 0.15;
/** So far above the cut-off the last row may be: the instrument stops between two rows. */
const LAST_ROW_V = 0.02;

/** What a curve takes for granted. */
export interface Assuming {
  readonly assumes: ReasonCode | null;
}

/**
 * The slow discharge and charge of a record as one curve. Its ends are taken as full and empty, so that there is none where
 * they may not be: a discharge must have met the cut-off, or, like a charge alone, moved nearly the rated capacity.
 *
 * Where charge and discharge moved unlike amounts, the curve is that of the discharge alone.
 *
 * @param cutoffVoltageV null: whether a discharge ended empty is decided by its amount alone
 */
export function findSlowCurve(
  record: RecordColumns,
  steps: readonly Step[],
  limits: { readonly ratedCapacityAh: number; readonly cutoffVoltageV: number | null },
  chargeAh: Float64Array = cumulativeChargeAh(record),
): (SlowCurve & Assuming) | null {
  const { ratedCapacityAh, cutoffVoltageV } = limits;
  const ranges = slowRanges(record, steps, ratedCapacityAh, chargeAh);
  const deciding = ranges.discharge ?? ranges.charge;
  if (deciding === undefined) return null;
  const last = deciding.end - 1;
  const isWhole = Math.abs(chargeAh[last] - chargeAh[deciding.start]) >= WHOLE_SHARE * ratedCapacityAh;
  const isEmpty =
    ranges.discharge !== undefined &&
    cutoffVoltageV !== null &&
    record.voltageV[last] <= cutoffVoltageV + LAST_ROW_V;
  if (!(isWhole || isEmpty)) return null;
  const { discharge, charge } = ranges;
  const alone = (run: RowRange): SlowCurve & Assuming => {
    const index = steps.findIndex(({ start }) => start === run.start);
    const { largestV, isSeen } = runPolarisation(record, steps, index, columnResolution(record.voltageV));
    const direction = run === charge ? { charge: run } : { discharge: run };
    return {
      ...slowCurve(record, direction, { oneWayV: largestV }),
      assumes: isSeen ? 'one-direction' : 'polarisation-assumed',
    };
  };
  const moved = (run: RowRange): number => Math.abs(chargeAh[run.end - 1] - chargeAh[run.start]);
  if (!discharge || !charge) return alone(deciding);
  if (Math.abs(moved(charge) / moved(discharge) - 1) <= UNLIKE_AMOUNTS)
    return { ...slowCurve(record, ranges), assumes: null };
  // Each direction is counted by its own amount: a charge that stopped short would be stretched against the discharge.
  return { ...alone(discharge), chargeAh: moved(charge) };
}

/** A slow curve as the contract gives it, with dOCV/dSOC. */
export function presentSlowCurve(slow: SlowCurve & Assuming): OpenCircuitCurve {
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
    assumes: slow.assumes,
  };
}
