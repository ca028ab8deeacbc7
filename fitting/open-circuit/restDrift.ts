import { checkResiduals } from '../circuit/index.ts';
import { estimateOf, fitLine, fitLinear, withPrior } from '../least-squares/index.ts';
import { medianOf } from '../numeric/index.ts';

const DAY_S = 86_400;

export interface RestDrift {
  /** The K value: change of the rest voltage, negative while it falls. */
  readonly driftMvPerDay: number | null;
  readonly standardUncertaintyMvPerDay: number | null;
  readonly reason: 'rest-too-short' | 'too-few-rows' | 'readings-all-equal' | 'still-relaxing' | null;
  /** Time of the first row used: before it the cell still relaxes. Null without a result. */
  readonly usedFromS: number | null;
  /** Whether the uncertainty allows for the days of a room, because no temperature that moves was recorded. */
  readonly assumesRoom: boolean;
}

export interface RestDriftOptions {
  /** Quantisation of the voltage in V; default 0. */
  readonly resolutionV?: number;
  /** Share of the rest that is left to relaxation. Default 0.5, at most `longestRelaxationS`. */
  readonly relaxationShare?: number;
  /** Default 24 h. */
  readonly longestRelaxationS?: number;
  /** Shortest rest in s that a drift is given for: a shorter one shows its relaxation. Default 6 h (common practice: days). */
  readonly shortestS?: number;
  /** Temperature of the cell at each row in °C. Where none was recorded, or one that never moves, a room is assumed. */
  readonly temperatureC?: Float64Array | null;
}

/**
 * Drift of the voltage of a resting cell: the slope of a straight line through the later part of the rest, beside what is left of
 * the relaxation.
 *
 * Uncertainty: scatter about the line (never below the quantisation, step/√12), widened where neighbouring
 * residuals are correlated, and by what moves unseen within one step of the reading: where noise σ does not blur steps of q, a
 * reading is off by up to (q/π)·exp(−2π²σ²/q²) (B. Widrow and I. Kollár, Quantization Noise, Cambridge 2008, from memory),
 * at both ends of the rest, whatever the number of rows, and what a relaxation that goes on may hold of the slope (`besideRelaxation`);
 * where that may be all of it there is no drift (`still-relaxing`). A cell's OCV moves
 * by up to some tenths of a millivolt per kelvin: what the recorded temperature, and the days that its steps hide or nobody recorded, may
 * have done to the slope is in it (`disturbancesOf`).
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
    assumesRoom: false,
  });
  const {
    resolutionV = 0,
    relaxationShare = 0.5,
    longestRelaxationS = DAY_S,
    shortestS = 6 * 3600,
    temperatureC = null,
  } = options;
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
  const { disturbances, assumesRoom } = disturbancesOf(days, temperatureC?.subarray(first) ?? null);
  const found = besideRelaxation({
    timeS,
    voltageV,
    days,
    millivolts,
    slope: slope.value,
    scatter,
    rowMv: (scatter * spread) / Math.sqrt(rowsPerIndependent),
    deviation: (1000 * stepV) / Math.sqrt(12),
    rowsPerIndependent,
    disturbances,
  });
  const ofStep = unseen(residuals, 1000 * stepV) / days[days.length - 1];
  // A cell that hardly loses charge has a drift near 0, which is a result: only a relaxation that drowns it leaves none.
  const ofOthers = Math.hypot(scatter, ofStep, found.ofTemperature);
  const drowned = found.standardUncertainty > RELAXATION_DROWNS * ofOthers;
  if (drowned && found.standardUncertainty > LARGEST_SHARE * Math.abs(found.slope))
    return none('still-relaxing');
  return {
    driftMvPerDay: found.slope,
    standardUncertaintyMvPerDay: Math.hypot(found.standardUncertainty, ofStep),
    reason: null,
    usedFromS: timeS[first],
    assumesRoom,
  };
}

/** How many times the uncertainty of the readings that of the relaxation must be for it to leave no drift. */
const RELAXATION_DROWNS = 5;
/** Share of the drift above which such an uncertainty leaves none: half of it says little of how fast a cell loses charge. */
const LARGEST_SHARE = 0.5;

/** Time in lengths of the rest from which on a logarithm of it goes: before, it would be without end. */
const EARLIEST = 0.01;
/**
 * How a relaxation may go on, at a time in lengths of the whole rest: exponentials; diffusion into depth, the inverse root of time
 * after a short load and the root of it after a long one (Crank, The Mathematics of Diffusion, from memory); and the logarithm, as
 * of processes with a wide spread of time constants.
 */
const COURSES: readonly ((share: number) => number)[] = [
  ...[0.15, 0.3, 0.7, 1.5].map((lengths) => (share: number) => Math.exp(-share / lengths)),
  ...[0.003, 0.03, 0.3].map((lengths) => (share: number) => 1 / Math.sqrt(1 + share / lengths)),
  (share) => -Math.sqrt(share),
  (share) => -Math.log1p(share / EARLIEST),
];
/** Rows at either end whose median is the voltage there, as a share of all. */
const END_SHARE = 0.02;

/** Means that a long rest is gathered into. */
const MOST_BINS = 150;

/** A rest, the rows of it that the line goes through, and what the line leaves of them. */
interface LineThroughRest {
  readonly timeS: Float64Array;
  readonly voltageV: Float64Array;
  readonly days: Float64Array;
  readonly millivolts: Float64Array;
  readonly slope: number;
  /** Standard uncertainty of the slope by the scatter about the line. */
  readonly scatter: number;
  /** Standard deviation of one row about the line. */
  readonly rowMv: number;
  /** Standard deviation of one independent row about the line, not below its step, and how many rows count as one. */
  readonly deviation: number;
  readonly rowsPerIndependent: number;
  /** Movements in mV, one standard deviation each, that may have been on top. */
  readonly disturbances: readonly Float64Array[];
}

/** Differences of readings below this are rounding. */
const LEAST_CHANGE = 1e-9;
/** Standard deviation of dOCV/dT in mV/K among cells and states of charge; common practice, no source. */
const PER_KELVIN_MV = 0.25;
/** Standard deviation of either phase of a room's daily temperature in K, where no moving temperature was recorded; common practice, no source. */
const ROOM_K = 0.7;

/**
 * What temperature may have done to the rows: as it was recorded, and a daily wave as large as the record leaves open. Readings in
 * steps hide one of half a step. Those that never move, a programmed temperature for one, say nothing of the cell.
 */
function disturbancesOf(
  days: Float64Array,
  temperatureC: Float64Array | null,
): { readonly disturbances: readonly Float64Array[]; readonly assumesRoom: boolean } {
  const stepK = temperatureC === null ? Infinity : smallestChange(temperatureC);
  const hiddenK = Math.min(ROOM_K, stepK / 2 / Math.SQRT2);
  const waves = [Math.cos, Math.sin].map((phase) =>
    days.map((day) => PER_KELVIN_MV * hiddenK * phase(2 * Math.PI * day)),
  );
  const assumesRoom = hiddenK === ROOM_K;
  if (temperatureC === null || stepK === Infinity) return { disturbances: waves, assumesRoom };
  const middle = medianOf(temperatureC);
  return {
    disturbances: [temperatureC.map((t) => PER_KELVIN_MV * (t - middle)), ...waves],
    assumesRoom,
  };
}

/** The smallest change from row to row that is one; Infinity where there is none. */
function smallestChange(values: Float64Array): number {
  let smallest = Infinity;
  for (let k = 1; k < values.length; k++) {
    const change = Math.abs(values[k] - values[k - 1]);
    if (change > LEAST_CHANGE && change < smallest) smallest = change;
  }
  return smallest;
}

/**
 * The slope, and what a relaxation that goes on makes uncertain of it: beside the line alone stand lines with a course of relaxation that
 * has moved between nothing and what the whole rest did, and each counts by its Bayes factor for a normal prior
 * (`withPrior`).
 *
 * @returns slope and its standard uncertainty in mV a day, averaged over the lines, and what temperature has of it on the line alone
 */
function besideRelaxation(rest: LineThroughRest): {
  slope: number;
  standardUncertainty: number;
  ofTemperature: number;
} {
  const { timeS, voltageV, days, millivolts, slope, scatter, rowMv, deviation, rowsPerIndependent } = rest;
  const { disturbances } = rest;
  const n = timeS.length;
  const lengthS = timeS[n - 1] - timeS[0];
  const ends = Math.max(2, Math.ceil(END_SHARE * n));
  const middle = (from: number): number => medianOf(voltageV.subarray(from, from + ends));
  const middleDays = (from: number): number => medianOf(timeS.subarray(from, from + ends)) / DAY_S;
  const apartDays = middleDays(n - ends) - middleDays(0);
  const seenMv = 1000 * (middle(n - ends) - middle(0)) - slope * apartDays;
  // What noise alone would show is no movement. The median's own noise: common practice, π/2 of the mean's variance.
  const noise = (Math.PI * rowMv ** 2) / ends + (scatter * apartDays) ** 2;
  const movedMv = seenMv * Math.max(0, 1 - noise / seenMv ** 2);
  const first = n - days.length;
  const each = Math.ceil(days.length / MOST_BINS);
  const binned = (valueAt: (row: number) => number): Float64Array =>
    Float64Array.from({ length: Math.ceil(days.length / each) }, (_, bin) => {
      const to = Math.min(days.length, (bin + 1) * each);
      let sum = 0;
      for (let k = bin * each; k < to; k++) sum += valueAt(k);
      return sum / (to - bin * each);
    });
  const x = binned((k) => days[k]);
  const y = binned((k) => millivolts[k]);
  const ones = new Float64Array(x.length).fill(1);
  const disturbing = disturbances.map((values) => binned((k) => values[k]));
  const ofTemperature = Math.hypot(...disturbing.map((values) => fitLine(x, values).parameters[1].value));
  const lines = [{ slope, variance: scatter ** 2 + ofTemperature ** 2, worth: 1 }];
  for (const course of COURSES) {
    const at = (row: number): number => course((timeS[row] - timeS[0]) / lengthS);
    const column = binned((k) => at(first + k) - at(n - 1));
    // Between nothing and all of what the rest moved beside the line: so much the course moves beside its own.
    const own = fitLine(x, column).parameters[1].value * apartDays;
    const likely = movedMv / (at(n - ends) - at(0) - own) / 2;
    const columns = [ones, x, column];
    const fit = fitLinear({ y, columns });
    if (fit.covariance === null || likely === 0) continue;
    const residual = (fit.residualSumOfSquares ?? 0) / Math.max(1, x.length - 3);
    const factor =
      Math.max(1, rowsPerIndependent / each) * Math.max(1, residual > 0 ? deviation ** 2 / residual : 1);
    const { covariance, parameters } = fit;
    const answers = disturbing.map((values) =>
      fitLinear({ y: values, columns }).parameters.map(({ value }) => value),
    );
    const ofAll = (a: number, b: number): number =>
      factor * covariance[a][b] + answers.reduce((sum, answer) => sum + answer[a] * answer[b], 0);
    const found = withPrior(
      {
        value: parameters[1].value,
        amplitude: parameters[2].value,
        own: ofAll(1, 1),
        shared: ofAll(1, 2),
        ofAmplitude: ofAll(2, 2),
      },
      { mean: likely, variance: likely ** 2 },
    );
    if (found !== null)
      lines.push({ slope: found.value, variance: found.variance, worth: found.support / COURSES.length });
  }
  const total = lines.reduce((sum, one) => sum + one.worth, 0);
  const mean = lines.reduce((sum, one) => sum + (one.worth * one.slope) / total, 0);
  const variance = lines.reduce(
    (sum, one) => sum + (one.worth * (one.variance + (one.slope - mean) ** 2)) / total,
    0,
  );
  return { slope: mean, standardUncertainty: Math.sqrt(variance), ofTemperature };
}

/** Changes of the reading below which the smallest of them passes for its step. */
const FEW_CHANGES = 8;

/**
 * The step of readings that hardly change, by their smallest change; 0 where they change at most rows, null where they never
 * do, so that nothing says how far the voltage may have moved.
 */
function fewSteps(voltageV: Float64Array): number | null {
  let changes = 0;
  for (let k = 1; k < voltageV.length; k++)
    if (Math.abs(voltageV[k] - voltageV[k - 1]) > LEAST_CHANGE) changes++;
  if (changes === 0) return null;
  return changes < FEW_CHANGES && changes < voltageV.length / 4 ? smallestChange(voltageV) : 0;
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
