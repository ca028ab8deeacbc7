import { leakageCurrent, type OcvCurve, ocvCurve } from '../../../fitting/open-circuit/index.ts';
import type { Context } from '../../context.ts';
import type { RestResult } from '../../contract/tests.ts';
import { listMeasurements } from '../../store/measurements.ts';
import { openCircuitOf } from '../parameters/openCircuitOf.ts';

/** The constant current that would discharge a cell as fast as its rest voltage falls, and its sources. */
export interface Leakage {
  readonly currentA: number | null;
  readonly standardUncertaintyA: number | null;
  /** Why there is none: a reason of the drift, or one of these. */
  readonly reason:
    | RestResult['reason']
    | 'no-capacity-measured'
    | 'no-open-circuit-curve'
    | 'outside-open-circuit-curve'
    | 'flat-open-circuit-curve';
  /** State of charge by the open-circuit curve. */
  readonly soc: number | null;
  readonly inputs: {
    readonly openCircuitFitId: number | null;
    readonly capacityMeasurementId: number | null;
  };
}

/** Where the slope is known no better than this share of itself, no current is read off it. */
const WORST_SLOPE_SHARE = 1;

/**
 * Leakage equivalent of a rest: drift over the slope of the cell's open-circuit curve, at the SOC that the rest's voltage
 * has on it, times the cell's capacity. The curve is the one that represents the cell (openCircuitOf), the capacity the
 * measured one of the highest cycle. Uncertainty: drift, capacity and slope together; not the room's temperature.
 */
export async function leakageOf(context: Context, cellId: number, rest: RestResult): Promise<Leakage> {
  const capacity = (await listMeasurements(context.store, cellId, 'capacity'))
    .filter((one) => one.value !== null && one.excludedReason === null)
    .pop();
  const curve = await curveOf(context, cellId);
  const inputs = { openCircuitFitId: curve?.fitId ?? null, capacityMeasurementId: capacity?.id ?? null };
  const none = (reason: Leakage['reason'], soc: number | null = null): Leakage => ({
    currentA: null,
    standardUncertaintyA: null,
    reason,
    soc,
    inputs,
  });
  if (rest.driftMvPerDay === null) return none(rest.reason);
  if (capacity?.value == null) return none('no-capacity-measured');
  if (curve === null) return none('no-open-circuit-curve');
  const place = curve.ocv.socAt(rest.lastVoltageV, 0, curve.hysteresisV);
  if (place.outside) return none('outside-open-circuit-curve');
  const slopeV = curve.ocv.curve.slopeAt(place.soc);
  const slopeUncertaintyV = uncertaintyOfSlope(curve.ocv, place);
  const currentA = leakageCurrent(rest.driftMvPerDay, slopeV, capacity.value);
  if (currentA === null || slopeUncertaintyV >= WORST_SLOPE_SHARE * slopeV)
    return none('flat-open-circuit-curve', place.soc);
  const perMillivolt = capacity.value / 1000 / slopeV / 24;
  return {
    currentA,
    standardUncertaintyA: Math.hypot(
      perMillivolt * (rest.driftStandardUncertaintyMvPerDay ?? 0),
      (currentA * (capacity.standardUncertainty ?? 0)) / capacity.value,
      (currentA * slopeUncertaintyV) / slopeV,
    ),
    reason: null,
    soc: place.soc,
    inputs,
  };
}

async function curveOf(
  context: Context,
  cellId: number,
): Promise<{ ocv: OcvCurve; hysteresisV: number; fitId: number } | null> {
  const found = await openCircuitOf(context, cellId);
  if (found === null) return null;
  const { soc, ocvV, standardUncertaintyV, hysteresisV } = found.curve;
  const ocv = ocvCurve(
    soc.map((z, i) => ({ soc: z, ocvV: ocvV[i], standardUncertaintyV: standardUncertaintyV[i] })),
  );
  const widths = hysteresisV.map((width) => Math.abs(width ?? 0));
  return ocv && { ocv, hysteresisV: Math.max(0, ...widths), fitId: found.fitId };
}

/**
 * From the uncertainties of the two measured points around the SOC, and from how the slope changes over the uncertainty of
 * the SOC itself.
 */
function uncertaintyOfSlope(ocv: OcvCurve, place: { soc: number; standardUncertainty: number }): number {
  const { points, curve } = ocv;
  const above = Math.max(
    1,
    points.findIndex(({ soc }) => soc >= place.soc),
  );
  const [low, high] = [points[above - 1], points[above]];
  const ofPoints = Math.hypot(low.standardUncertaintyV, high.standardUncertaintyV) / (high.soc - low.soc);
  const near = [place.soc - place.standardUncertainty, place.soc + place.standardUncertainty]
    .filter((soc) => curve.covers(soc))
    .map((soc) => Math.abs(curve.slopeAt(soc) - curve.slopeAt(place.soc)));
  return Math.hypot(ofPoints, Math.max(0, ...near));
}
