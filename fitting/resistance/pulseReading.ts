import type { PulseCircuit } from '../circuit/index.ts';
import { circuitValue } from '../circuit/index.ts';
import type { EdgeMoment, Pulse, RecordColumns, StepFinding } from '../records/index.ts';
import { baseOfPulse, leavesOnlyNoise, noiseBefore, type VoltageAt } from './pulseBase.ts';

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
  const noise = noiseBefore(record, finding, pulse, fitted);
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
    noiseV: Math.max(noise.readingV, readingNoise(finding.voltageNoiseV, circuit?.residualSdV ?? 0)),
    steady,
    changeAt: changes(record, finding, pulse, fitted, steady),
    baseAt: baseOfPulse(record, finding, pulse, fitted, noise),
    answer,
    adequate,
  };
}

/** A reading this close to the full current is one of R(t), with its own current. */
const NEARLY_FULL = 0.01;
/** Share of the interval before the first reading by which a slow edge may lie away from that reading. */
const OPEN_BEFORE = 0.7;

/** A voltage that is behind the current by less than this share of the interval follows it. */
const IN_STEP = 0.25;
/** Share of the change up to which the two are compared. */
const MOST_OF_THE_WAY = 0.95;

/**
 * The edge of a current that takes several rows to settle. Where the voltage follows it row by row, the source was slow or both
 * channels smooth alike: the answer of a linear cell is then that to a step at the centre of the change. Else the
 * voltage channel is late by about as much, so times count from the first reading under load, give or take most of the interval before it.
 */
function slowEdge(record: RecordColumns, pulse: Pulse, edge: EdgeMoment): EdgeMoment {
  const { timeS, currentA } = record;
  if (edge.centreS !== null && isInStep(record, pulse, edge)) return { ...edge, momentS: edge.centreS };
  const halfWidthS = OPEN_BEFORE * (timeS[pulse.start] - timeS[pulse.start - 1]);
  let settled = pulse.start;
  const far = (row: number): boolean =>
    Math.abs(currentA[row] - pulse.currentA) > NEARLY_FULL * Math.abs(pulse.currentA - pulse.baseCurrentA);
  while (settled < edge.settled && far(settled)) settled++;
  return { momentS: timeS[pulse.start], halfWidthS, centreS: edge.centreS, settled, partial: edge.partial };
}

/** Whether the voltage goes its way at an edge as the current does. */
function isInStep(
  { timeS, currentA, voltageV }: RecordColumns,
  pulse: Pulse,
  { settled }: EdgeMoment,
): boolean {
  const before = pulse.start - 1;
  // Later the cell's own relaxation counts for more than the lag.
  let mostly = pulse.start;
  const way = (row: number): number =>
    (currentA[row] - currentA[before]) / (pulse.currentA - currentA[before]);
  while (mostly < settled && way(mostly) < MOST_OF_THE_WAY) mostly++;
  const share = (column: Float64Array, row: number): number =>
    (column[row] - column[before]) / (column[mostly] - column[before]);
  let behindS = 0;
  for (let row = pulse.start; row < mostly; row++) {
    const forS = (timeS[row + 1] - timeS[row - 1]) / 2;
    behindS += (share(currentA, row) - share(voltageV, row)) * forS;
  }
  return Math.abs(behindS) < IN_STEP * (timeS[pulse.start] - timeS[before]);
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
  const quantised = Math.max(resolutionA, finding.levelStepA) / Math.sqrt(12);
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
