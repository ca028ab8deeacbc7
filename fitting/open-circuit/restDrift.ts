import { checkResiduals } from '../circuit/fit/residualCheck.ts';
import { fitLine } from '../least-squares/linear/line.ts';
import { estimateOf } from '../least-squares/types.ts';

const DAY_S = 86_400;

export interface RestDrift {
  /** The K value: change of the rest voltage, negative while it falls. */
  readonly driftMvPerDay: number | null;
  readonly standardUncertaintyMvPerDay: number | null;
  readonly reason: 'rest-too-short' | 'too-few-rows' | 'readings-all-equal' | null;
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
 * residuals are correlated, and by what moves unseen within one step of the reading: where noise σ does not blur steps of q, a
 * reading is off by up to (q/π)·exp(−2π²σ²/q²) (B. Widrow and I. Kollár, Quantization Noise, Cambridge 2008, from memory),
 * at both ends of the rest, whatever the number of rows. It does not contain the temperature of the room: a cell's OCV moves by up to some
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
  const stepV = resolutionV > 0 ? resolutionV : fewSteps(voltageV.subarray(first));
  if (stepV === null) return none('readings-all-equal');
  const days = Float64Array.from(timeS.subarray(first), (t) => (t - fromS) / DAY_S);
  const millivolts = Float64Array.from(voltageV.subarray(first), (v) => 1000 * (v - voltageV[n - 1]));
  const fit = fitLine(days, millivolts, { slopeUnit: 'mV/d', interceptUnit: 'mV' });
  const slope = estimateOf(fit, 'slope');
  const intercept = estimateOf(fit, 'intercept').value;
  const residuals = millivolts.map((value, i) => value - intercept - slope.value * days[i]);
  const { rowsPerIndependent } = checkResiduals(residuals);
  const mean = days.reduce((sum, day) => sum + day, 0) / days.length;
  const spread = Math.sqrt(days.reduce((sum, day) => sum + (day - mean) ** 2, 0));
  const floor = (1000 * stepV) / Math.sqrt(12) / spread;
  const scatter = Math.sqrt(rowsPerIndependent) * Math.max(slope.standardError ?? 0, floor);
  return {
    driftMvPerDay: slope.value,
    standardUncertaintyMvPerDay: Math.hypot(scatter, unseen(residuals, 1000 * stepV) / days[days.length - 1]),
    reason: null,
    usedFromS: timeS[first],
  };
}

/** Changes of the reading below which the smallest of them passes for its step. */
const FEW_CHANGES = 8;

/**
 * The step of readings that hardly change, by their smallest change; 0 where they change at most rows, null where they never
 * do, so that nothing says how far the voltage may have moved.
 */
function fewSteps(voltageV: Float64Array): number | null {
  let [changes, smallest] = [0, Number.POSITIVE_INFINITY];
  for (let k = 1; k < voltageV.length; k++) {
    const change = Math.abs(voltageV[k] - voltageV[k - 1]);
    if (change <= 1e-9) continue;
    changes++;
    smallest = Math.min(smallest, change);
  }
  if (changes === 0) return null;
  return changes < FEW_CHANGES && changes < voltageV.length / 4 ? smallest : 0;
}

/** What the readings at both ends may be off by, within one step, in the residuals' unit. */
function unseen(residuals: Float64Array, step: number): number {
  if (!(step > 0)) return 0;
  const variance = residuals.reduce((sum, value) => sum + value * value, 0) / residuals.length;
  const noise = Math.max(0, variance / step ** 2 - 1 / 12);
  return ((Math.SQRT2 * step) / Math.PI) * Math.exp(-2 * Math.PI ** 2 * noise);
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
