import type { RecordColumns, RowRange } from '../records/record.ts';
import type { ChargeRun } from './findRuns.ts';

/** Noise and resolution of a record's voltage, and what counts as rest. */
export interface ReadingQuality {
  /** Noise of one voltage reading in V, not below what its resolution brings. */
  readonly voltageNoiseV: number;
  readonly voltageResolutionV: number;
  readonly restA: number;
}

/** Where a discharge meets its cut-off. */
export interface CutoffCrossing {
  /** First row at or below the cut-off; where the discharge was stopped between rows, the row after its last loaded one. */
  readonly row: number;
  readonly timeS: number;
  /** Standard deviation of that time from the noise of the voltage, in s. */
  readonly noiseS: number;
  /** Half-width of what the way between the rows leaves open, in s. */
  readonly shapeS: number;
  /** True where no loaded row reads the cut-off: the discharge was stopped by it between two rows. */
  readonly betweenRows: boolean;
}

/** The crossing, or null, and the dips before it that were not the end. */
export interface FoundCrossing {
  readonly crossing: CutoffCrossing | null;
  /** Rows at or below the cut-off after which the voltage came back above it under the same load. */
  readonly dipRows: readonly number[];
}

/** Share of the current that still is the same load. */
const SAME_LOAD = 0.9;
/** Multiple of the noise that the rows around the crossing must span; more rows are taken until they do. */
const SPAN_OF_NOISE = 8;
/** Most rows on either side of the crossing that a line is drawn through. */
const MOST_ROWS = 40;

/**
 * Finds where the voltage of a discharge goes below the cut-off for good: rows below it after which the voltage comes
 * back above it under the same load, for longer than it was below, are a dip. A discharge that a tester stopped at the
 * cut-off between two rows has met it where its voltage, continued, meets it before the load is off.
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

/** Loaded rows next to `row` without a break, as a range. */
function contiguousLoad(record: RecordColumns, run: ChargeRun, row: number, restA: number): RowRange {
  const { currentA } = record;
  const usualA = Math.abs(currentA[Math.max(run.firstLoadedRow, row - 1)]);
  const same = (i: number): boolean =>
    currentA[i] < -restA && Math.abs(Math.abs(currentA[i]) - usualA) <= (1 - SAME_LOAD) * usualA;
  let start = row;
  while (start > run.firstLoadedRow && same(start - 1)) start--;
  let end = row;
  while (end <= run.lastLoadedRow && same(end)) end++;
  return { start, end };
}

function crossingAt(
  record: RecordColumns,
  run: ChargeRun,
  row: number,
  cutoffV: number,
  quality: ReadingQuality,
): CutoffCrossing | null {
  const { timeS, voltageV } = record;
  const noiseV = quality.voltageNoiseV;
  const range = contiguousLoad(record, run, row, quality.restA);
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
 * Crossing between the rows `row − 1` and `row`: time as a polynomial of the voltage through up to four rows of the load,
 * because the voltage of a cell falls ever faster towards its end and a chord would cross too early. What the highest
 * power changes is left open.
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
  const share = (voltageV[row - 1] - cutoffV) / fallV;
  const chordS = timeS[row - 1] + share * spanS;
  const noiseS = (noiseV * spanS * Math.hypot(share, 1 - share)) / fallV;
  const rows = [row - 1, row];
  if (row - 2 >= range.start && voltageV[row - 2] > voltageV[row - 1]) rows.unshift(row - 2);
  if (row + 1 < range.end && voltageV[row + 1] < voltageV[row]) rows.push(row + 1);
  const orders = [chordS];
  if (rows.includes(row - 2)) orders.push(timeAt(timeS, voltageV, rows.slice(0, 3), cutoffV));
  else if (rows.length === 3) orders.push(timeAt(timeS, voltageV, rows, cutoffV));
  if (rows.length === 4) orders.push(timeAt(timeS, voltageV, rows, cutoffV));
  const within = orders.map((at) => Math.min(timeS[row], Math.max(timeS[row - 1], at)));
  const best = within[within.length - 1];
  const changeS = within.length > 1 ? Math.abs(best - within[within.length - 2]) : chordError(spanS, share);
  return { timeS: best, noiseS: Math.min(noiseS, spanS / 2), shapeS: Math.min(changeS, spanS / 2) };
}

/** What a chord may be off by where nothing is known of the curvature: nothing at its ends, most in between. */
function chordError(spanS: number, share: number): number {
  return spanS * share * (1 - share);
}

/** Time at a voltage by Lagrange's polynomial of the time over the voltages of `rows`. */
function timeAt(timeS: Float64Array, voltageV: Float64Array, rows: readonly number[], atV: number): number {
  let sum = 0;
  for (const i of rows) {
    let weight = 1;
    for (const j of rows) if (j !== i) weight *= (atV - voltageV[j]) / (voltageV[i] - voltageV[j]);
    sum += weight * timeS[i];
  }
  return sum;
}

/**
 * The crossing of a discharge whose last loaded row is still above the cut-off, where its voltage, continued with the
 * slope and the bend of its last rows, meets the cut-off before the load is off.
 *
 * @param below the voltage is below the cut-off in the row after the load: then it was met in any case
 */
function stoppedBetweenRows(
  record: RecordColumns,
  run: ChargeRun,
  cutoffV: number,
  quality: ReadingQuality,
  below: boolean,
): CutoffCrossing | null {
  const { timeS, voltageV } = record;
  const last = run.lastLoadedRow;
  const range = contiguousLoad(record, run, last, quality.restA);
  const usualS = last > range.start ? timeS[last] - timeS[last - 1] : 0;
  const untilS = last + 1 < run.end ? Math.max(0, timeS[last + 1] - timeS[last]) : usualS;
  const whole = { timeS: timeS[last] + untilS / 2, noiseS: 0, shapeS: untilS / 2 };
  const found = { row: Math.min(last + 1, run.end - 1), betweenRows: true };
  if (last - range.start < 2) return below ? { ...found, ...whole } : null;
  if (!below && untilS > 3 * usualS) return null;
  const aboveV = voltageV[last] - cutoffV;
  const reading = 3 * quality.voltageNoiseV + quality.voltageResolutionV;
  const going = continuedFall(record, range, last, quality.voltageNoiseV);
  // Testers look at the voltage more often than they log it: the load may be off anywhere up to the next usual row.
  const searchS = Math.max(untilS, usualS);
  // Where the record ends under load nothing says that the load was off: only a straight line counts then.
  const reachV = last + 1 < run.end ? going.fallV(searchS) : going.slope * usualS;
  if (!below && aboveV > reachV + reading) return null;
  const straightS = going.slope > 0 ? Math.max(0, aboveV) / going.slope : Infinity;
  const afterS = timeToFall(going.fallV, aboveV, untilS);
  const slope = (going.fallV(afterS + 0.01 * usualS) - going.fallV(afterS)) / (0.01 * usualS);
  // What the bend makes of the fall is what a sharper bend may change again; where a straight line does not even meet the
  // cut-off, the whole interval is open.
  const bent = aboveV > 0 ? Math.min(1, Math.max(0, 1 - (going.slope * afterS) / aboveV)) : 0;
  const openS = straightS <= untilS ? straightS - afterS : Math.max(afterS, untilS - afterS);
  return {
    ...found,
    timeS: timeS[last] + afterS,
    noiseS: slope > 0 ? Math.min(quality.voltageNoiseV / slope, untilS / 2) : 0,
    shapeS: Math.max(openS, bent * afterS),
  };
}

/** Time in s, at most `untilS`, in which a voltage has fallen by `fallV`. */
function timeToFall(fallV: (seconds: number) => number, wantedV: number, untilS: number): number {
  if (!(wantedV > 0)) return 0;
  let low = 0;
  let high = untilS;
  for (let round = 0; round < 50; round++) {
    const middle = (low + high) / 2;
    if (fallV(middle) < wantedV) low = middle;
    else high = middle;
  }
  return high;
}

/** How the voltage of a load goes on falling after its last row. */
interface ContinuedFall {
  /** Fall in V/s at the last row. */
  readonly slope: number;
  /** Fall in V after a time in s. */
  readonly fallV: (seconds: number) => number;
}

/**
 * Continues the fall of the last rows: where three falls over equal times grow, by a straight line and an exponential
 * through them, which is how a cell's voltage goes down towards empty; else by a straight line and a parabola.
 */
function continuedFall(
  { timeS, voltageV }: RecordColumns,
  range: RowRange,
  last: number,
  noiseV: number,
): ContinuedFall {
  let step = 1;
  while (
    last - 3 * (step + 1) >= range.start &&
    voltageV[last - step] - voltageV[last] < SPAN_OF_NOISE * noiseV
  )
    step++;
  const at = [3, 2, 1, 0].map((k) => Math.max(range.start, last - k * step));
  const slope = (a: number, b: number): number =>
    timeS[b] > timeS[a] ? (voltageV[a] - voltageV[b]) / (timeS[b] - timeS[a]) : 0;
  const spanS = timeS[at[3]] - timeS[at[2]];
  const [early, middle, late] = [slope(at[0], at[1]), slope(at[1], at[2]), slope(at[2], at[3])].map(
    (fall) => fall * spanS,
  );
  const [first, second] = [middle - early, late - middle];
  const equal = Math.abs(timeS[at[1]] - timeS[at[0]] - spanS) < 0.1 * spanS;
  if (equal && first > 6 * noiseV && second > 1.05 * first) {
    const ratio = Math.min(second / first, 100);
    const growing = second / (1 - 1 / ratio);
    const steady = late - growing;
    return {
      slope: (steady + (growing * ratio * Math.log(ratio)) / (ratio - 1)) / spanS,
      fallV: (seconds) => {
        const x = seconds / spanS;
        return steady * x + (growing * ratio * (ratio ** x - 1)) / (ratio - 1);
      },
    };
  }
  const bend = spanS > 0 ? Math.max(0, second) / spanS ** 2 : 0;
  const now = Math.max(0, late / Math.max(spanS, 1e-9)) + (bend * spanS) / 2;
  return { slope: now, fallV: (seconds) => now * seconds + (bend * seconds * seconds) / 2 };
}
