import type { RecordColumns, RowRange } from '../records/index.ts';
import type { ReadingQuality } from './countingQuality.ts';
import type { ChargeRun } from './findRuns.ts';
import {
  type CutoffCrossing,
  contiguousLoad,
  continuedFall,
  propagatedNoise,
  SAME_LOAD,
  SPAN_OF_NOISE,
  stoppedBetweenRows,
  timeToFall,
} from './stoppedAtCutoff.ts';

/** The crossing, or null, and the dips before it that were not the end. */
export interface FoundCrossing {
  readonly crossing: CutoffCrossing | null;
  /** Rows at or below the cut-off after which the voltage came back above it under the same load. */
  readonly dipRows: readonly number[];
}

/** Most rows on either side of the crossing that a line is drawn through. */
const MOST_ROWS = 40;

/**
 * Finds where the voltage of a discharge goes below the cut-off for good: rows below it after which the voltage comes
 * back above it under the same load, for longer than it was below, are a dip. A discharge that a tester stopped at the
 * cut-off between two rows has met it where its voltage, continued, meets it before the load is off; also where a smaller current
 * takes out more after a rest.
 *
 * @param inclusive a reading that equals the cut-off has reached it
 * @param firstRow first row that may be the end
 */
export function findCutoffCrossing(
  record: RecordColumns,
  run: ChargeRun,
  cutoffV: number,
  quality: ReadingQuality,
  inclusive = true,
  firstRow = run.firstLoadedRow,
): FoundCrossing {
  const { voltageV, currentA } = record;
  const below = (row: number): boolean => voltageV[row] < cutoffV || (inclusive && voltageV[row] === cutoffV);
  const loaded = (row: number): boolean => currentA[row] < -quality.restA;
  const dipRows: number[] = [];
  const lastRow = Math.min(run.end - 1, run.lastLoadedRow + 1);
  for (let row = Math.max(firstRow, run.firstLoadedRow); row <= lastRow; row++) {
    if (!below(row) && holdsCutoff(record, run, row, cutoffV, quality))
      return {
        crossing: stoppedBetweenRows(record, { ...run, lastLoadedRow: row - 1 }, cutoffV, quality, true),
        dipRows,
      };
    if (!below(row) && !loaded(row) && loaded(row - 1) && resumesWeaker(record, run, row, quality.restA)) {
      const crossing = stoppedBetweenRows(
        record,
        { ...run, lastLoadedRow: row - 1 },
        cutoffV,
        quality,
        false,
      );
      if (crossing !== null) return { crossing, dipRows };
    }
    // The first row after a load may still read its end.
    if (!below(row) || !(loaded(row) || loaded(row - 1))) continue;
    if (!loaded(row)) return { crossing: stoppedBetweenRows(record, run, cutoffV, quality, true), dipRows };
    const back = endOfDip(record, run, row, cutoffV, quality);
    if (back === null) return { crossing: crossingAt(record, run, row, cutoffV, quality), dipRows };
    for (let i = row; i < back; i++) if (below(i)) dipRows.push(i);
    row = back - 1;
  }
  return { crossing: stoppedBetweenRows(record, run, cutoffV, quality, false), dipRows };
}

/** Share by which a current that a tester turns down falls from one row to the next, at least. */
const TURNED_DOWN = 0.02;

/**
 * Whether a tester holds the voltage at the cut-off from a row on and turns the current down: then the cut-off was met before that
 * row, whatever the noise of the reading makes of it.
 */
function holdsCutoff(
  { voltageV, currentA }: RecordColumns,
  run: ChargeRun,
  row: number,
  cutoffV: number,
  quality: ReadingQuality,
): boolean {
  if (row <= run.firstLoadedRow + 1 || row + 2 > run.lastLoadedRow) return false;
  const reading = 3 * quality.voltageNoiseV + quality.voltageResolutionV;
  const held = (k: number): boolean => Math.abs(voltageV[k] - cutoffV) <= reading;
  const level = Math.abs(currentA[row - 1]);
  const down = (k: number): boolean => Math.abs(currentA[k]) < (1 - TURNED_DOWN) * level;
  const falling = Math.abs(currentA[row + 2]) < Math.abs(currentA[row + 1]);
  return (
    [row, row + 1, row + 2].every((k) => held(k) && down(k)) && falling && currentA[row + 2] < -quality.restA
  );
}

/**
 * Whether a load that goes off before a row comes again as a smaller one: then the tester may have stopped it at the cut-off. One
 * that goes on at the same current was paused.
 */
function resumesWeaker({ currentA }: RecordColumns, run: ChargeRun, row: number, restA: number): boolean {
  let next = row;
  while (next <= run.lastLoadedRow && currentA[next] >= -restA) next++;
  const settled = Math.min(next + 1, run.lastLoadedRow);
  return next <= run.lastLoadedRow && currentA[settled] > SAME_LOAD * currentA[row - 1];
}

/** The row from which the voltage is above the cut-off again under the same load, or null where it does not come back. */
function endOfDip(
  record: RecordColumns,
  run: ChargeRun,
  row: number,
  cutoffV: number,
  quality: ReadingQuality,
): number | null {
  const { timeS, voltageV, currentA } = record;
  const clearV = cutoffV + Math.max(4 * quality.voltageNoiseV, 2 * quality.voltageResolutionV, 0.002);
  let back = -1;
  for (let i = row + 1; i <= run.lastLoadedRow; i++) {
    if (Math.abs(currentA[i]) < SAME_LOAD * Math.abs(currentA[row])) return null;
    if (back < 0) {
      if (voltageV[i] > clearV) back = i;
    } else if (voltageV[i] <= cutoffV) {
      back = -1;
    } else if (i > back && timeS[i] - timeS[back] >= timeS[back] - timeS[row]) {
      return back;
    }
  }
  return null;
}

function crossingAt(
  record: RecordColumns,
  run: ChargeRun,
  row: number,
  cutoffV: number,
  quality: ReadingQuality,
): CutoffCrossing | null {
  const noiseV = quality.voltageNoiseV;
  const range = contiguousLoad(record, run, row, quality.restA);
  const excessV = stoppedByNoise(record, range, row, noiseV);
  if (excessV > 0) {
    const crossing = crossingOf(withReading(record, row, excessV), range, run, row, cutoffV, quality);
    const fallS = fallAt(record, range, row);
    return crossing && fallS > 0
      ? { ...crossing, noiseS: Math.hypot(crossing.noiseS, excessV / fallS) }
      : crossing;
  }
  return crossingOf(record, range, run, row, cutoffV, quality);
}

/**
 * How far the row that a tester stopped at is expected to read too low: of the readings that come near the cut-off the one
 * whose noise points down ends the discharge. With the stop equally likely anywhere between two rows the noise of that
 * reading has the mean −σ²/(fall between two rows), and no more than about σ. 0 where the load goes on.
 */
function stoppedByNoise(record: RecordColumns, range: RowRange, row: number, noiseV: number): number {
  if (range.end > row + 1 || row - range.start < 3) return 0;
  const fallV = fallAt(record, range, row) * (record.timeS[row] - record.timeS[row - 1]);
  return fallV > 0 ? Math.min(noiseV, noiseV ** 2 / fallV) : noiseV;
}

/** Fall of the voltage per second in the rows before one, the row itself left out. */
function fallAt({ timeS, voltageV }: RecordColumns, range: RowRange, row: number): number {
  const last = row - 1;
  const first = Math.max(range.start, last - FALL_ROWS);
  return timeS[last] > timeS[first] ? (voltageV[first] - voltageV[last]) / (timeS[last] - timeS[first]) : 0;
}

/** Rows over which the fall before a stop is read. */
const FALL_ROWS = 6;

function withReading(record: RecordColumns, row: number, addV: number): RecordColumns {
  const voltageV = record.voltageV.slice();
  voltageV[row] += addV;
  return { ...record, voltageV };
}

function crossingOf(
  record: RecordColumns,
  range: RowRange,
  run: ChargeRun,
  row: number,
  cutoffV: number,
  quality: ReadingQuality,
): CutoffCrossing | null {
  const { timeS, voltageV } = record;
  const noiseV = quality.voltageNoiseV;
  const found = { row, betweenRows: false };
  // The discharge begins below the cut-off: nothing was discharged above it.
  if (row === run.firstLoadedRow) return { ...found, timeS: timeS[row], noiseS: 0, shapeS: 0 };
  let first = row - 1;
  let last = Math.min(row, Math.max(range.end - 1, row));
  while (
    voltageV[first] - voltageV[last] < SPAN_OF_NOISE * noiseV &&
    last - first < 2 * MOST_ROWS &&
    (first > range.start || last + 1 < range.end)
  ) {
    if (first > range.start) first--;
    if (last + 1 < range.end) last++;
  }
  return last - first > 2
    ? { ...found, ...onLine(record, first, last, cutoffV, noiseV) }
    : { ...found, ...betweenTwo(record, range, row, cutoffV, noiseV) };
}

/** Crossing of a straight line through many noisy rows. */
function onLine(
  { timeS, voltageV }: RecordColumns,
  first: number,
  last: number,
  cutoffV: number,
  noiseV: number,
): Pick<CutoffCrossing, 'timeS' | 'noiseS' | 'shapeS'> {
  const n = last - first + 1;
  let [t, v] = [0, 0];
  for (let i = first; i <= last; i++) {
    t += timeS[i] / n;
    v += voltageV[i] / n;
  }
  let [tt, tv] = [0, 0];
  for (let i = first; i <= last; i++) {
    tt += (timeS[i] - t) ** 2;
    tv += (timeS[i] - t) * (voltageV[i] - v);
  }
  const fall = tt > 0 ? -tv / tt : 0;
  const spanS = timeS[last] - timeS[first];
  if (!(fall > 0)) return { timeS: timeS[last], noiseS: 0, shapeS: spanS / 2 };
  const atS = Math.min(timeS[last], Math.max(timeS[first], t + (v - cutoffV) / fall));
  const noiseS = (noiseV / fall) * Math.sqrt(1 / n + (atS - t) ** 2 / tt);
  return { timeS: atS, noiseS: Math.min(noiseS, spanS), shapeS: 0 };
}

/**
 * Crossing between the rows `row − 1` and `row`, through up to four rows of the load, because the voltage of a cell falls
 * ever faster towards its end and a chord would cross too early.
 */
function betweenTwo(
  { timeS, voltageV }: RecordColumns,
  range: RowRange,
  row: number,
  cutoffV: number,
  noiseV: number,
): Pick<CutoffCrossing, 'timeS' | 'noiseS' | 'shapeS'> {
  const spanS = timeS[row] - timeS[row - 1];
  const fallV = voltageV[row - 1] - voltageV[row];
  if (!(fallV > 0) || voltageV[row - 1] <= cutoffV) return { timeS: timeS[row - 1], noiseS: 0, shapeS: 0 };
  const rows = [row - 1, row];
  if (row + 1 < range.end && voltageV[row + 1] < voltageV[row]) rows.push(row + 1);
  while (rows.length < 4 && rows[0] - 1 >= range.start && voltageV[rows[0] - 1] > voltageV[rows[0]])
    rows.unshift(rows[0] - 1);
  const times = rows.map((i) => timeS[i]);
  const readings = rows.map((i) => voltageV[i]);
  const crossing = (volts: readonly number[]): Pick<CutoffCrossing, 'timeS' | 'shapeS'> =>
    betweenReadings({ timeS: times, voltageV: volts, at: rows.indexOf(row) }, cutoffV, noiseV);
  const found = crossing(readings);
  const noiseS = propagatedNoise(readings, noiseV, (volts) => crossing(volts).timeS);
  return {
    timeS: found.timeS,
    noiseS: Math.min(noiseS, spanS / 2),
    shapeS: Math.min(found.shapeS, spanS / 2),
  };
}

/** Two to four falling readings; the cut-off lies between those at `at − 1` and `at`. */
interface FallingReadings {
  readonly timeS: readonly number[];
  readonly voltageV: readonly number[];
  readonly at: number;
}

/**
 * The moment lies after the chord's and before those of the lines through the readings on either side, as for any fall that
 * grows. Between them it is that of a straight line and an exponential through four readings, or of a polynomial; what the
 * two differ by is left open, and all of it where the knee falls between few readings.
 */
function betweenReadings(
  readings: FallingReadings,
  cutoffV: number,
  noiseV: number,
): Pick<CutoffCrossing, 'timeS' | 'shapeS'> {
  const { timeS, voltageV, at } = readings;
  const share = (voltageV[at - 1] - cutoffV) / (voltageV[at - 1] - voltageV[at]);
  const spanS = timeS[at] - timeS[at - 1];
  const chordS = timeS[at - 1] + share * spanS;
  // Nothing is known of the curvature: nothing at the ends of a chord, most in between.
  if (timeS.length === 2) return { timeS: chordS, shapeS: spanS * share * (1 - share) };
  const line = (from: number): number =>
    timeS[from] +
    ((voltageV[from] - cutoffV) * (timeS[from + 1] - timeS[from])) / (voltageV[from] - voltageV[from + 1]);
  const others = [at - 2, at].filter((from) => from >= 0 && from + 1 < timeS.length).map(line);
  const latestS = Math.max(chordS, Math.min(timeS[at], ...others));
  const within = (s: number): number => Math.min(latestS, Math.max(chordS, s));
  const first = Math.max(0, Math.min(at - 2, timeS.length - 3));
  const third = within(timeAt(timeS.slice(first, first + 3), voltageV.slice(first, first + 3), cutoffV));
  if (timeS.length === 3) return { timeS: third, shapeS: third - chordS };
  const fourth = within(timeAt(timeS, voltageV, cutoffV));
  const going = continuedFall(timeS, voltageV, noiseV);
  if (!going.exact && !going.coarse) return { timeS: fourth, shapeS: Math.abs(fourth - third) };
  if (!going.exact) return { timeS: (chordS + latestS) / 2, shapeS: (latestS - chordS) / 2 };
  const fromS = timeS[at - 1] - timeS[3];
  const fallV = (seconds: number): number => going.fallV(fromS + seconds) - going.fallV(fromS);
  const curved = within(timeS[at - 1] + timeToFall(fallV, voltageV[at - 1] - cutoffV, spanS));
  return {
    timeS: curved,
    shapeS: going.coarse ? Math.max(latestS - curved, curved - chordS) : Math.abs(curved - fourth) / 2,
  };
}

/** Time at a voltage by Lagrange's polynomial of the time over the voltages. */
function timeAt(timeS: readonly number[], voltageV: readonly number[], atV: number): number {
  return timeS.reduce((sum, time, i) => {
    let weight = 1;
    voltageV.forEach((other, j) => {
      if (j !== i) weight *= (atV - other) / (voltageV[i] - other);
    });
    return sum + weight * time;
  }, 0);
}
