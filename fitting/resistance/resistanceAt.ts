import type { PulseReading } from './pulseReading.ts';

/** Why a resistance at a duration is missing. */
export type ResistanceReason =
  | 'pulse-too-short'
  | 'sampling-too-coarse'
  | 'current-not-settled'
  | 'wrong-sign';

/** A resistance with the duration it belongs to. */
export interface ResistanceAtTime {
  readonly durationS: number;
  readonly valueOhm: number | null;
  readonly standardUncertaintyOhm: number | null;
  readonly reason: ResistanceReason | null;
  /** Time of the reading used after the step, as far as its moment is known. */
  readonly sampledAtS: number | null;
  /** Share of the variance that comes from what is open of the step's moment. */
  readonly edgeShare: number;
}

/** Share of the duration by which a pulse may be shorter, and a reading be taken as it is. */
const SLACK = 0.02;
/** Share of the duration by which the moment of the step may be open, and the reading lie away. */
const FARTHEST = 0.55;
/** Rows under the full current that show how the answer goes on. */
const FEWEST_ROWS = 3;
/** Above this share of the duration the answer bends within what is open of the moment. */
const QUICK = 0.2;

/**
 * R(t) = (U(t) − U₀(t)) / (I − I₀) at `durationS` after the step: the reading nearest to that time, carried to it along
 * the fitted circuit's answer to a step. U₀ is the voltage without the pulse (`PulseReading.baseAt`): what an earlier
 * current still does is taken off. The time counts from the middle of what the rows leave open of the step's moment.
 *
 * Only rows under the full current are read. Nothing is extrapolated beyond the pulse's own end: null with a reason.
 * Uncertainty: noise and resolution of both voltages and of the current, what is open of the step's moment, the way
 * from the reading to the duration, and a current that did not stay constant.
 */
export function resistanceAt(reading: PulseReading, durationS: number): ResistanceAtTime {
  const { record, on, off, loadedEnd } = reading;
  const { timeS } = record;
  const missing = (reason: ResistanceReason): ResistanceAtTime => ({
    durationS,
    valueOhm: null,
    standardUncertaintyOhm: null,
    reason,
    sampledAtS: null,
    edgeShare: 0,
  });
  const last = loadedEnd - 1;
  const targetS = on.momentS + durationS;
  const endS = off === null ? timeS[last] : off.momentS + off.halfWidthS;
  if (targetS - SLACK * durationS - on.halfWidthS > endS) return missing('pulse-too-short');
  if (last < on.settled) return missing('current-not-settled');
  if (on.halfWidthS > FARTHEST * durationS) return missing('sampling-too-coarse');
  const row = nearestRow(timeS, targetS, on.settled, last);
  if (Math.abs(timeS[row] - targetS) > FARTHEST * durationS) {
    return missing(on.partial && row === on.settled ? 'current-not-settled' : 'sampling-too-coarse');
  }
  // Fewer rows do not show how the answer goes on between them: only one at the duration itself can be read.
  const awayS = Math.abs(timeS[row] - targetS) + on.halfWidthS;
  if (last - on.settled < FEWEST_ROWS - 1 && awayS > SLACK * durationS) return missing('sampling-too-coarse');
  const read = readRow(reading, row, durationS);
  if (!(read.valueOhm > 0)) return missing('wrong-sign');
  return { durationS, ...read, reason: null, sampledAtS: timeS[row] - on.momentS };
}

/** R at the first row under the full current: the shortest that the record has; null where there is no such row. */
export function firstResistance(reading: PulseReading): ResistanceAtTime | null {
  const { record, on, loadedEnd } = reading;
  if (on.settled >= loadedEnd) return null;
  const durationS = record.timeS[on.settled] - on.momentS;
  const read = readRow(reading, on.settled, durationS);
  return read.valueOhm > 0 ? { durationS, ...read, reason: null, sampledAtS: durationS } : null;
}

function nearestRow(timeS: Float64Array, targetS: number, first: number, last: number): number {
  let row = first;
  while (row < last && timeS[row] < targetS) row++;
  return row > first && targetS - timeS[row - 1] < timeS[row] - targetS ? row - 1 : row;
}

/**
 * Standard uncertainty of an edge in parts of the half width that the rows leave open. A tester has its edges at the same place
 * in every record, so the interval must hold for an edge at the end of the open span beside noise of any size: 1/√2 (arcsine)
 * holds in 90 % where both are alike, this in 92 % or more.
 */
const EDGE_SHARE = Math.sqrt(0.6);

/** Answer to a step of 1 A at a time after it, up to a constant. */
type Answer = (timeS: number) => number;

/** Value and uncertainty at a duration from one row. */
function readRow(
  reading: PulseReading,
  row: number,
  durationS: number,
): { valueOhm: number; standardUncertaintyOhm: number; edgeShare: number } {
  const { record, on, noiseV } = reading;
  const base = reading.baseAt(record.timeS[row]);
  const change = reading.changeAt(row);
  const size = Math.abs(change.currentA);
  const ofRows = reading.adequate && reading.answer !== null ? null : rowsAnswer(reading, row);
  const answer = reading.answer ?? (ofRows as Answer);
  const way = (by: Answer): number => by(durationS) - by(record.timeS[row] - on.momentS);
  const correction = way(answer);
  const valueOhm = (record.voltageV[row] - base.voltageV) / change.currentA + correction;
  const openOf = (by: Answer): number =>
    Math.max(
      Math.abs(by(durationS + on.halfWidthS) - by(durationS)),
      Math.abs(by(durationS) - by(Math.max(durationS - on.halfWidthS, 0))),
    );
  const quick = !reading.adequate && on.halfWidthS > QUICK * durationS ? 1.2 : 1;
  // A circuit that does not hold may be flat where the rows are not.
  const ofEdge = quick * EDGE_SHARE * Math.max(openOf(answer), ofRows === null ? 0 : openOf(ofRows));
  const otherWay = ofRows === null ? 0 : way(ofRows) - correction;
  const standardUncertaintyOhm = Math.hypot(
    noiseV / size,
    base.standardUncertaintyV / size,
    (valueOhm * change.standardUncertaintyA) / size,
    ofEdge,
    shareOfWay(reading, durationS) * correction,
    otherWay,
    unsteadyPart(reading, row, valueOhm),
  );
  const edgeShare = standardUncertaintyOhm > 0 ? (ofEdge / standardUncertaintyOhm) ** 2 : 0;
  return { valueOhm, standardUncertaintyOhm, edgeShare };
}

/** How much of the way from a reading to the duration is uncertain: all of it where the rows hardly resolve it. */
function shareOfWay({ on, adequate }: PulseReading, durationS: number): number {
  if (adequate) return 0.2;
  return on.halfWidthS > QUICK * durationS ? 1.2 : 0.5;
}

/** Without a circuit that holds: a straight line through the rows beside the one that is read. */
function rowsAnswer({ record, on, loadedEnd, baseAt, changeAt }: PulseReading, row: number): Answer {
  const from = Math.max(row - 2, on.settled);
  const to = Math.min(row + 2, loadedEnd - 1);
  const ohm = (at: number): number =>
    (record.voltageV[at] - baseAt(record.timeS[at]).voltageV) / changeAt(at).currentA;
  const spanS = record.timeS[to] - record.timeS[from];
  const slope = spanS > 0 ? (ohm(to) - ohm(from)) / spanS : 0;
  return (timeS: number): number => slope * timeS;
}

/** Where the current fell on the way: the slow part of the answer belongs to another current than the reading's. */
function unsteadyPart(
  { record, on, steady, changeAt, baseAt }: PulseReading,
  row: number,
  valueOhm: number,
): number {
  if (steady) return 0;
  const first = on.settled;
  let mean = 0;
  for (let k = first; k <= row; k++) mean += changeAt(k).currentA / (row - first + 1);
  const { timeS, voltageV } = record;
  const polarisation =
    valueOhm - (voltageV[first] - baseAt(timeS[first]).voltageV) / changeAt(first).currentA;
  return polarisation * (1 - mean / changeAt(row).currentA);
}
