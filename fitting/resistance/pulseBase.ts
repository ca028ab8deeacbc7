import type { ChosenCircuit, CircuitWindow, PulseCircuit } from '../circuit/index.ts';
import {
  checkResiduals,
  circuitValue,
  circuitVoltage,
  type FittedCircuit,
  isSurpassed,
} from '../circuit/index.ts';
import type { Pulse, RecordColumns, StepFinding } from '../records/index.ts';
import { lineThroughRows } from '../records/index.ts';

/** A voltage at a moment, with its standard uncertainty. */
export interface VoltageAt {
  readonly voltageV: number;
  readonly standardUncertaintyV: number;
}

/** Noise of the voltage just before a pulse, as a circuit leaves it. */
export interface NoiseBefore {
  readonly readingV: number;
  /** Readings that hold as much as one independent one. */
  readonly rowsPerIndependent: number;
}

/** The last part of the base whose mean is the voltage just before the pulse. */
const BASE_S = 30;
/** Share of an extrapolated relaxation that counts as uncertain where the circuit leaves more than noise. */
const MODEL_SHARE = 0.1;

/** A residual above this multiple of the noise is not noise, in any record that fits into a file. */
const LARGEST_OF_NOISE = 6;

/** Whether a circuit leaves nothing but noise: few rows may be far off where all others are white. */
export function leavesOnlyNoise(chosen: ChosenCircuit, noiseV: number): boolean {
  const { residuals, circuit } = chosen;
  return (
    residuals.verdict === 'white' &&
    !isSurpassed(chosen) &&
    residuals.largestV <= LARGEST_OF_NOISE * Math.max(noiseV, circuit.residualSdV)
  );
}

/**
 * The voltage without the pulse: the mean of the last rows before it, and on from there as the circuit has the
 * relaxation from earlier currents going on; where there is no circuit, straight on as the last rows move.
 */
export function baseOfPulse(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  fitted: PulseCircuit,
  noise: NoiseBefore,
): (timeS: number) => VoltageAt {
  const { timeS, voltageV } = record;
  const { first, last } = rowsBefore(record, pulse, fitted);
  const rows = last - first + 1;
  let [meanV, meanS] = [0, 0];
  for (let k = first; k <= last; k++) {
    meanV += voltageV[k] / rows;
    meanS += timeS[k] / rows;
  }
  const ofMean = Math.hypot(
    noise.readingV * Math.min(1, Math.sqrt(noise.rowsPerIndependent / rows)),
    finding.voltageResolutionV / Math.sqrt(12) / (rows > 1 ? Math.min(2, Math.sqrt(rows)) : 1),
  );
  const course = courseOfPast(fitted, finding.voltageNoiseV);
  if (course !== null) {
    const before = { value: 0, gradient: course.gradientAt(timeS[first]).map(() => 0) };
    for (let k = first; k <= last; k++) {
      before.value += course.valueAt(timeS[k]) / rows;
      course.gradientAt(timeS[k]).forEach((entry, i) => {
        before.gradient[i] += entry / rows;
      });
    }
    const otherBases = course.others.map(({ valueAt, weight }) => {
      let value = 0;
      for (let k = first; k <= last; k++) value += valueAt(timeS[k]) / rows;
      return { valueAt, weight, value };
    });
    const { slope: straight } = lineThrough(record, first, last, finding.voltageNoiseV);
    return (atS) => {
      const moved = course.valueAt(atS) - before.value;
      const gradient = course.gradientAt(atS).map((entry, i) => entry - before.gradient[i]);
      // What the circuit does not hold of the relaxation goes on otherwise than it says: at most as the rows' own line.
      const otherwise = (straight * (atS - meanS) - moved) / Math.sqrt(3);
      const between = otherBases.reduce(
        (sum, { valueAt, weight, value }) => sum + weight * (valueAt(atS) - value - moved) ** 2,
        0,
      );
      const share = course.adequate ? 0 : Math.hypot(MODEL_SHARE * moved, otherwise);
      return {
        voltageV: meanV + moved,
        standardUncertaintyV: Math.hypot(
          ofMean,
          course.errorOf(gradient, atS - meanS),
          share,
          Math.sqrt(between),
        ),
      };
    };
  }
  const settled = fitted.past === 'settled';
  const { slope, slopeError } = lineThrough(
    record,
    settled ? fitted.start : first,
    last,
    finding.voltageNoiseV,
  );
  return (atS) => {
    const moved = settled ? 0 : slope * (atS - meanS);
    const drift = Math.hypot(slopeError * (atS - meanS), moved / Math.sqrt(3));
    return { voltageV: meanV + moved, standardUncertaintyV: Math.hypot(ofMean, drift) };
  };
}

/** First and last of the rows before a pulse whose mean is the voltage just before it. */
function rowsBefore(
  { timeS }: RecordColumns,
  pulse: Pulse,
  { start }: PulseCircuit,
): { first: number; last: number } {
  const last = pulse.start - 1;
  let first = last;
  while (first > start && timeS[last] - timeS[first - 1] <= BASE_S) first--;
  return { first, last };
}

/** Rows from which on the scatter of residuals is known within about a quarter. */
const FEWEST_FOR_NOISE = 10;

/**
 * The scatter that a circuit leaves of the rows just before its pulse, where it lies above the record's noise: noise
 * from row to row does not show a slow one, such as hum or a filter's. With the rows that hold as much as one of them.
 */
export function noiseBefore(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  fitted: PulseCircuit,
): NoiseBefore {
  const { window, rows, chosen } = fitted;
  const noise = { readingV: finding.voltageNoiseV, rowsPerIndependent: 1 };
  if (chosen === null || window.lag !== null) return noise;
  const { first, last } = rowsBefore(record, pulse, fitted);
  const fittedV = circuitVoltage(window, chosen.circuit);
  const left: number[] = [];
  for (let k = 0; k < rows.length; k++) {
    if (rows[k] >= first && rows[k] <= last) left.push(record.voltageV[rows[k]] - fittedV[k]);
  }
  if (left.length < FEWEST_FOR_NOISE) return noise;
  const { rowsPerIndependent } = checkResiduals(Float64Array.from(left));
  const scatterV = Math.sqrt(left.reduce((sum, value) => sum + value * value, 0) / left.length);
  return { readingV: Math.max(noise.readingV, scatterV), rowsPerIndependent };
}

/** How the voltage would go on by itself, as a function of the fitted parameters. */
interface Course {
  valueAt(timeS: number): number;
  /** To the circuit's parameters, in their order. */
  gradientAt(timeS: number): number[];
  /** Standard error of a value with this gradient, so long after the rows that it is counted from. */
  errorOf(gradient: readonly number[], afterS: number): number;
  readonly adequate: boolean;
  /** The same by the other circuits, by their weights. */
  readonly others: readonly { valueAt(timeS: number): number; readonly weight: number }[];
}

/** What earlier currents left by one circuit, as a function of time. */
function pastOf(circuit: FittedCircuit, { timeS, chargeBaseA }: CircuitWindow): (atS: number) => number {
  const value = (name: string): number => circuitValue(circuit, name);
  const slope = circuit.withSlope ? value('slopeVPerAs') * chargeBaseA : 0;
  const terms = termsOf(circuit).map(({ amplitude, tau }) => ({ leftV: value(amplitude), tauS: value(tau) }));
  return (atS) =>
    terms.reduce(
      (sum, { leftV, tauS }) => sum + leftV * Math.exp((timeS[0] - atS) / tauS),
      slope * (atS - timeS[0]),
    );
}

/** Names of the parameters of what earlier currents left, term by term. */
function termsOf({ history, branches }: FittedCircuit): { amplitude: string; tau: string }[] {
  return Array.from({ length: history }, (_, i) =>
    i < branches
      ? { amplitude: `left${i + 1}V`, tau: `tau${i + 1}S` }
      : { amplitude: 'driftV', tau: 'tauDriftS' },
  );
}

/** What earlier currents left by the fitted circuit; null where it holds none of them. */
function courseOfPast({ chosen, window }: PulseCircuit, noiseV: number): Course | null {
  if (chosen === null || chosen.covariance === null) return null;
  const { circuit, covariance } = chosen;
  if (circuit.history === 0 && window.chargeBaseA === 0) return null;
  const fromS = window.timeS[0];
  const value = (name: string): number => circuitValue(circuit, name);
  const terms = termsOf(circuit);
  const chargeAt = (timeS: number): number => window.chargeBaseA * (timeS - fromS);
  return {
    valueAt: pastOf(circuit, window),
    gradientAt: (timeS) =>
      circuit.parameters.map(({ name }) => {
        if (name === 'slopeVPerAs') return chargeAt(timeS);
        const own = terms.find(({ amplitude, tau }) => amplitude === name || tau === name);
        if (own === undefined) return 0;
        const tauS = value(own.tau);
        const left = Math.exp((fromS - timeS) / tauS);
        return own.amplitude === name ? left : (value(own.amplitude) * left * (timeS - fromS)) / tauS ** 2;
      }),
    errorOf: (gradient, afterS) => {
      // A drift that the circuit does not hold goes on beside what the parameters would make of it.
      const { square, response } = chosen.unseenDrift ?? { square: 0, response: [] };
      const taken = response.reduce((sum, change, i) => sum + change * gradient[i], 0);
      let variance = square * ((afterS + taken) ** 2 - taken ** 2);
      gradient.forEach((a, i) => {
        gradient.forEach((b, j) => {
          variance += a * b * covariance[i][j];
        });
      });
      return Math.sqrt(Math.max(variance, 0));
    },
    adequate: leavesOnlyNoise(chosen, noiseV),
    others: chosen.others.map((other) => ({ valueAt: pastOf(other.circuit, window), weight: other.weight })),
  };
}

/** Slope of the line through the voltage of some rows, with its standard error from the reading's noise. */
function lineThrough(
  record: RecordColumns,
  first: number,
  last: number,
  noiseV: number,
): { slope: number; slopeError: number } {
  const { slopeVPerS, errorPerV } = lineThroughRows(record, first, last);
  return { slope: slopeVPerS, slopeError: noiseV * errorPerV };
}
