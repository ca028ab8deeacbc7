import { checkResiduals } from '../circuit/fit/residualCheck.ts';
import { fitLine } from '../least-squares/linear/line.ts';
import { estimateOf } from '../least-squares/types.ts';

const DAY_S = 86_400;

export interface RestDrift {
  /** The K value: change of the rest voltage, negative while it falls. */
  readonly driftMvPerDay: number | null;
  readonly standardUncertaintyMvPerDay: number | null;
  readonly reason: 'rest-too-short' | 'too-few-rows' | null;
  /** Time of the first row used: before it the cell still relaxes. Null without a result. */
  readonly usedFromS: number | null;
}

export interface RestDriftOptions {
  /** Quantisation of the voltage in V; default 0. */
  readonly resolutionV?: number;
  /** Share of the rest that is left to relaxation. Default 0.5, at most `longestRelaxationS`. */
  readonly relaxationShare?: number;
  /** Default 24 h. */
  readonly longestRelaxationS?: number;
  /** Shortest rest in s that a drift is given for. Default 1 h. */
  readonly shortestS?: number;
}

/**
 * Drift of the voltage of a resting cell: the slope of a straight line through the later part of the rest.
 *
 * Uncertainty: scatter about the line (never below the quantisation, step/√12), widened where neighbouring
 * residuals are correlated. It does not contain the temperature of the room: a cell's OCV moves by up to some
 * tenths of a millivolt per kelvin (common practice).
 *
 * @throws RangeError for lengths that differ or non-finite values
 */
export function restDrift(
  timeS: Float64Array,
  voltageV: Float64Array,
  options: RestDriftOptions = {},
): RestDrift {
  const none = (reason: RestDrift['reason']): RestDrift => ({
    driftMvPerDay: null,
    standardUncertaintyMvPerDay: null,
    reason,
    usedFromS: null,
  });
  const { resolutionV = 0, relaxationShare = 0.5, longestRelaxationS = DAY_S, shortestS = 3600 } = options;
  const n = timeS.length;
  if (n < 4) return none('too-few-rows');
  const lengthS = timeS[n - 1] - timeS[0];
  if (lengthS < shortestS) return none('rest-too-short');
  const fromS = timeS[0] + Math.min(relaxationShare * lengthS, longestRelaxationS);
  let first = 0;
  while (timeS[first] < fromS) first++;
  if (n - first < 4) return none('too-few-rows');
  const days = Float64Array.from(timeS.subarray(first), (t) => (t - fromS) / DAY_S);
  const millivolts = Float64Array.from(voltageV.subarray(first), (v) => 1000 * (v - voltageV[n - 1]));
  const fit = fitLine(days, millivolts, { slopeUnit: 'mV/d', interceptUnit: 'mV' });
  const slope = estimateOf(fit, 'slope');
  const intercept = estimateOf(fit, 'intercept').value;
  const residuals = millivolts.map((value, i) => value - intercept - slope.value * days[i]);
  const { rowsPerIndependent } = checkResiduals(residuals);
  const mean = days.reduce((sum, day) => sum + day, 0) / days.length;
  const spread = Math.sqrt(days.reduce((sum, day) => sum + (day - mean) ** 2, 0));
  const floor = (1000 * resolutionV) / Math.sqrt(12) / spread;
  return {
    driftMvPerDay: slope.value,
    standardUncertaintyMvPerDay: Math.sqrt(rowsPerIndependent) * Math.max(slope.standardError ?? 0, floor),
    reason: null,
    usedFromS: timeS[first],
  };
}

/**
 * Constant current that would discharge a cell as fast as its rest voltage falls, in A: I = Q · (−K) /
 * (dOCV/dSOC · 24 h).
 *
 * @param driftMvPerDay K value, negative while the voltage falls
 * @param ocvSlopeV dOCV/dSOC in V
 * @returns null where the OCV is so flat that no leakage can be read off it (slope not above 0)
 */
export function leakageCurrent(driftMvPerDay: number, ocvSlopeV: number, capacityAh: number): number | null {
  if (!(ocvSlopeV > 0)) return null;
  return (capacityAh * -driftMvPerDay) / 1000 / ocvSlopeV / 24;
}
