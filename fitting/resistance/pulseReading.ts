import type { ChosenCircuit } from '../circuit/fit/chooseCircuit.ts';
import { circuitValue } from '../circuit/fit/fitCircuit.ts';
import type { PulseCircuit } from '../circuit/fit/fitPulses.ts';
import { isSurpassed } from '../circuit/fit/isSurpassed.ts';
import type { EdgeMoment } from '../records/edgeMoment.ts';
import type { Pulse } from '../records/pulses.ts';
import type { RecordColumns } from '../records/record.ts';
import type { StepFinding } from '../records/steps.ts';

/** A voltage at a moment, with its standard uncertainty. */
export interface VoltageAt {
  readonly voltageV: number;
  readonly standardUncertaintyV: number;
}

/** A pulse made ready for readings of its resistance. */
export interface PulseReading {
  readonly record: RecordColumns;
  readonly pulse: Pulse;
  readonly on: EdgeMoment;
  readonly off: EdgeMoment | null;
  /** Row after the last under the full current. */
  readonly loadedEnd: number;
  /** Noise of one voltage reading, quantisation included. */
  readonly noiseV: number;
  /** Change of current to a row, with its standard uncertainty. */
  changeAt(row: number): { readonly currentA: number; readonly standardUncertaintyA: number };
  /** Whether the current holds one level. */
  readonly steady: boolean;
  /** The voltage that there would be without the pulse. */
  baseAt(timeS: number): VoltageAt;
  /** Answer to a step of 1 A at a time after it, by the fitted circuit; null where there is none. */
  readonly answer: ((timeS: number) => number) | null;
  /** Whether the circuit leaves nothing but noise. */
  readonly adequate: boolean;
}

/** The last part of the base whose mean is the voltage just before the pulse. */
const BASE_S = 30;
/** Share of an extrapolated relaxation that counts as uncertain where the circuit leaves more than noise. */
const MODEL_SHARE = 0.1;

/**
 * Makes a pulse ready for readings of its resistance, with the circuit that was fitted to it.
 *
 * @param deadS time that current and voltage take to settle together where the current is slow to settle, else 0
 */
export function pulseReading(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  fitted: PulseCircuit,
  deadS: number,
): PulseReading {
  const { off, loadedEnd, chosen } = fitted;
  const on = deadS > 0 ? slowEdge(record, pulse, fitted.on) : fitted.on;
  const steady = finding.steps
    .slice(pulse.firstStep, pulse.lastStep + 1)
    .every(({ kind }) => kind === 'constant-current');
  const { circuit } = chosen ?? { circuit: null };
  const adequate = chosen !== null && leavesOnlyNoise(chosen, finding.voltageNoiseV);
  const answer =
    circuit === null
      ? null
      : (timeS: number): number => {
          let ohm = circuitValue(circuit, 'r0Ohm');
          if (circuit.withSlope) ohm += circuitValue(circuit, 'slopeVPerAs') * timeS;
          for (let i = 1; i <= circuit.branches; i++) {
            ohm -= circuitValue(circuit, `r${i}Ohm`) * Math.expm1(-timeS / circuitValue(circuit, `tau${i}S`));
          }
          return ohm;
        };
  return {
    record,
    pulse,
    on,
    off,
    loadedEnd,
    noiseV: readingNoise(finding.voltageNoiseV, circuit?.residualSdV ?? 0),
    steady,
    changeAt: changes(record, finding, pulse, fitted, steady),
    baseAt: baseOfPulse(record, finding, pulse, fitted),
    answer,
    adequate,
  };
}

/** A residual above this multiple of the noise is not noise, in any record that fits into a file. */
const LARGEST_OF_NOISE = 6;

/** Whether a circuit leaves nothing but noise: few rows may be far off where all others are white. */
function leavesOnlyNoise(chosen: ChosenCircuit, noiseV: number): boolean {
  const { residuals, circuit } = chosen;
  return (
    residuals.verdict === 'white' &&
    !isSurpassed(chosen) &&
    residuals.largestV <= LARGEST_OF_NOISE * Math.max(noiseV, circuit.residualSdV)
  );
}

/** A reading this close to the full current is one of R(t), with its own current. */
const NEARLY_FULL = 0.01;
/** Share of the interval before the first reading by which a slow edge may lie away from that reading. */
const OPEN_BEFORE = 0.7;

/**
 * The edge of a current that takes several rows to settle. The voltage channel is late by about as much, so times count
 * from the first reading under load, give or take most of the interval before it.
 */
function slowEdge({ timeS, currentA }: RecordColumns, pulse: Pulse, edge: EdgeMoment): EdgeMoment {
  const halfWidthS = OPEN_BEFORE * (timeS[pulse.start] - timeS[pulse.start - 1]);
  let settled = pulse.start;
  const far = (row: number): boolean =>
    Math.abs(currentA[row] - pulse.currentA) > NEARLY_FULL * Math.abs(pulse.currentA - pulse.baseCurrentA);
  while (settled < edge.settled && far(settled)) settled++;
  return { momentS: timeS[pulse.start], halfWidthS, settled, partial: edge.partial };
}

/** Residuals above this multiple of the noise are the model's. */
const NOISE_OF_RESIDUALS = 3;

/** Noise of one reading under load: what the circuit leaves of it tells more than the rest, where steps swallow it. */
function readingNoise(restNoiseV: number, residualSdV: number): number {
  return residualSdV < NOISE_OF_RESIDUALS * restNoiseV ? Math.max(restNoiseV, residualSdV) : restNoiseV;
}

/** Change of current to each row: the means of both levels where they hold, else the reading itself. */
function changes(
  { currentA }: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  { start, on, loadedEnd }: PulseCircuit,
  steady: boolean,
): PulseReading['changeAt'] {
  const { loadNoiseA, resolutionA } = finding.scale;
  const mean = (from: number, to: number): number => {
    let sum = 0;
    for (let row = from; row < to; row++) sum += currentA[row];
    return sum / (to - from);
  };
  const baseA = mean(start, pulse.start);
  const ofBase = loadNoiseA / Math.sqrt(pulse.start - start);
  const quantised = resolutionA / Math.sqrt(12);
  if (!steady || loadedEnd <= on.settled) {
    const standardUncertaintyA = Math.hypot(loadNoiseA, ofBase, quantised);
    return (row) => ({ currentA: currentA[row] - baseA, standardUncertaintyA });
  }
  const ofRow = Math.hypot(loadNoiseA, ofBase, quantised);
  const change = {
    currentA: mean(on.settled, loadedEnd) - baseA,
    standardUncertaintyA: Math.hypot(loadNoiseA / Math.sqrt(loadedEnd - on.settled), ofBase, quantised),
  };
  return (row) =>
    row < on.settled ? { currentA: currentA[row] - baseA, standardUncertaintyA: ofRow } : change;
}

/**
 * The voltage without the pulse: the mean of the last rows before it, and on from there as the circuit has the
 * relaxation from earlier currents going on; where there is no circuit, straight on as the last rows move.
 */
function baseOfPulse(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  fitted: PulseCircuit,
): PulseReading['baseAt'] {
  const { timeS, voltageV } = record;
  const last = pulse.start - 1;
  let first = last;
  while (first > fitted.start && timeS[last] - timeS[first - 1] <= BASE_S) first--;
  const rows = last - first + 1;
  let [meanV, meanS] = [0, 0];
  for (let k = first; k <= last; k++) {
    meanV += voltageV[k] / rows;
    meanS += timeS[k] / rows;
  }
  const ofMean = Math.hypot(
    finding.voltageNoiseV / Math.sqrt(rows),
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
    return (atS) => {
      const moved = course.valueAt(atS) - before.value;
      const gradient = course.gradientAt(atS).map((entry, i) => entry - before.gradient[i]);
      const share = course.adequate ? 0 : MODEL_SHARE * moved;
      return {
        voltageV: meanV + moved,
        standardUncertaintyV: Math.hypot(ofMean, course.errorOf(gradient), share),
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

/** How the voltage would go on by itself, as a function of the fitted parameters. */
interface Course {
  valueAt(timeS: number): number;
  /** To the circuit's parameters, in their order. */
  gradientAt(timeS: number): number[];
  /** Standard error of a value with this gradient. */
  errorOf(gradient: readonly number[]): number;
  readonly adequate: boolean;
}

/** What earlier currents left by the fitted circuit; null where it holds none of them. */
function courseOfPast({ chosen, window }: PulseCircuit, noiseV: number): Course | null {
  if (chosen === null || chosen.covariance === null) return null;
  const { circuit, covariance } = chosen;
  if (circuit.history === 0 && window.chargeBaseA === 0) return null;
  const fromS = window.timeS[0];
  const value = (name: string): number => circuitValue(circuit, name);
  const terms = Array.from({ length: circuit.history }, (_, i) =>
    i < circuit.branches
      ? { amplitude: `left${i + 1}V`, tau: `tau${i + 1}S` }
      : { amplitude: 'driftV', tau: 'tauDriftS' },
  );
  const chargeAt = (timeS: number): number => window.chargeBaseA * (timeS - fromS);
  return {
    valueAt: (timeS) => {
      let volts = circuit.withSlope ? value('slopeVPerAs') * chargeAt(timeS) : 0;
      for (const { amplitude, tau } of terms)
        volts += value(amplitude) * Math.exp((fromS - timeS) / value(tau));
      return volts;
    },
    gradientAt: (timeS) =>
      circuit.parameters.map(({ name }) => {
        if (name === 'slopeVPerAs') return chargeAt(timeS);
        const own = terms.find(({ amplitude, tau }) => amplitude === name || tau === name);
        if (own === undefined) return 0;
        const tauS = value(own.tau);
        const left = Math.exp((fromS - timeS) / tauS);
        return own.amplitude === name ? left : (value(own.amplitude) * left * (timeS - fromS)) / tauS ** 2;
      }),
    errorOf: (gradient) => {
      let variance = 0;
      gradient.forEach((a, i) => {
        gradient.forEach((b, j) => {
          variance += a * b * covariance[i][j];
        });
      });
      return Math.sqrt(Math.max(variance, 0));
    },
    adequate: leavesOnlyNoise(chosen, noiseV),
  };
}

/** Slope of the line through the voltage of some rows, with its standard error from the reading's noise. */
function lineThrough(
  { timeS, voltageV }: RecordColumns,
  first: number,
  last: number,
  noiseV: number,
): { slope: number; slopeError: number } {
  const rows = last - first + 1;
  let [meanS, meanV] = [0, 0];
  for (let k = first; k <= last; k++) {
    meanS += timeS[k] / rows;
    meanV += voltageV[k] / rows;
  }
  let [products, squares] = [0, 0];
  for (let k = first; k <= last; k++) {
    products += (timeS[k] - meanS) * (voltageV[k] - meanV);
    squares += (timeS[k] - meanS) ** 2;
  }
  return squares > 0 && rows > 2
    ? { slope: products / squares, slopeError: noiseV / Math.sqrt(squares) }
    : { slope: 0, slopeError: 0 };
}
