import type { RecordColumns, RowRange } from '../records/index.ts';
import type { ReadingQuality } from './countingQuality.ts';
import type { ChargeRun } from './findRuns.ts';

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

/** Share of the current that still is the same load. */
export const SAME_LOAD = 0.9;
/** Multiple of the noise that the rows around the crossing must span; more rows are taken until they do. */
export const SPAN_OF_NOISE = 8;
/** Growth of the fall from row to row above which the rows are too far apart to tell the way between them. */
const COARSE_KNEE = 2.5;

/** Loaded rows next to `row` without a break, as a range. */
export function contiguousLoad(record: RecordColumns, run: ChargeRun, row: number, restA: number): RowRange {
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

/**
 * The crossing of a discharge whose last loaded row is still above the cut-off, where its voltage, continued with the
 * slope and the bend of its last rows, meets the cut-off before the load is off.
 *
 * @param below the voltage is below the cut-off in the row after the load: then it was met in any case
 */
export function stoppedBetweenRows(
  record: RecordColumns,
  run: ChargeRun,
  cutoffV: number,
  quality: ReadingQuality,
  below: boolean,
): CutoffCrossing | null {
  const { timeS, voltageV } = record;
  const last = run.lastLoadedRow;
  const range = contiguousLoad(record, run, last, quality.restA);
  const usualS = intervalBefore(record, range, last);
  const untilS = last + 1 < run.end ? Math.max(0, timeS[last + 1] - timeS[last]) : usualS;
  const whole = { timeS: timeS[last] + untilS / 2, noiseS: 0, shapeS: untilS / 2 };
  const found = { row: Math.min(last + 1, run.end - 1), betweenRows: true };
  if (last - range.start < 2) return below ? { ...found, ...whole } : null;
  if (!below && untilS > 3 * usualS) return null;
  const aboveV = voltageV[last] - cutoffV;
  const reading = 3 * quality.voltageNoiseV + quality.voltageResolutionV;
  const rows = fallRows(record, range, last, quality.voltageNoiseV);
  const readings = rows.map((row) => voltageV[row]);
  const times = rows.map((row) => timeS[row] - timeS[last]);
  const going = continuedFall(times, readings, quality.voltageNoiseV);
  // Testers look at the voltage more often than they log it: the load may be off anywhere up to the next usual row.
  const searchS = Math.max(untilS, usualS);
  // Where the record ends under load nothing says that the load was off: only a straight line counts then.
  const reachV = last + 1 < run.end ? going.fallV(searchS) : going.slope * usualS;
  if (!below && aboveV > reachV + reading) return null;
  if (going.fallV(untilS) < aboveV) return { ...found, ...whole };
  const noiseS = propagatedNoise(readings, quality.voltageNoiseV, (volts) =>
    timeToFall(continuedFall(times, volts, quality.voltageNoiseV).fallV, volts[3] - cutoffV, untilS),
  );
  const afterS = timeToFall(going.fallV, aboveV, untilS);
  // A fall that grows meets the cut-off before the straight line does. How much earlier than the continuation nothing
  // tells: twice what the straight line is later is allowed for, and everything where the knee falls between few rows.
  const straightS = going.slope > 0 ? Math.min(untilS, Math.max(0, aboveV) / going.slope) : untilS;
  const earliestS = going.coarse ? 0 : Math.max(0, afterS - 2 * (straightS - afterS));
  const middleS = (straightS + earliestS) / 2;
  return {
    ...found,
    timeS: timeS[last] + middleS,
    noiseS: Math.min(noiseS, untilS / 2),
    shapeS: straightS - middleS,
  };
}

/** Time in s, at most `untilS`, in which a voltage has fallen by `fallV`. */
export function timeToFall(fallV: (seconds: number) => number, wantedV: number, untilS: number): number {
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

/** Standard deviation of a figure of a few readings from the noise of each. */
export function propagatedNoise(
  readings: readonly number[],
  noise: number,
  figure: (readings: readonly number[]) => number,
): number {
  if (!(noise > 0)) return 0;
  const changes = readings.map((_, k) => {
    const shifted = (by: number): number =>
      figure(readings.map((value, l) => (l === k ? value + by : value)));
    return (shifted(noise) - shifted(-noise)) / 2;
  });
  return Math.hypot(...changes);
}

/** How the voltage of a load goes on falling after its last row. */
export interface ContinuedFall {
  /** Whether the rows are too far apart to tell the way between them. */
  readonly coarse: boolean;
  /** Whether the continuation meets all four readings. */
  readonly exact: boolean;
  /** Fall in V/s at the last row. */
  readonly slope: number;
  /** Fall in V after a time in s. */
  readonly fallV: (seconds: number) => number;
}

/** Four rows at about equal distances up to the last one, far enough apart that their falls are clear of the noise. */
function fallRows(
  { timeS, voltageV }: RecordColumns,
  range: RowRange,
  last: number,
  noiseV: number,
): number[] {
  // Rows of one time count once.
  const rows = [last];
  for (let row = last - 1; row >= range.start; row--) if (timeS[row] < timeS[row + 1]) rows.push(row);
  let step = 1;
  while (3 * (step + 1) < rows.length && voltageV[rows[step]] - voltageV[last] < SPAN_OF_NOISE * noiseV)
    step++;
  return [3, 2, 1, 0].map((k) => rows[Math.min(rows.length - 1, k * step)]);
}

/** Time from the row before that was written earlier to a row; 0 where there is none. */
function intervalBefore({ timeS }: RecordColumns, range: RowRange, row: number): number {
  let before = row - 1;
  while (before >= range.start && timeS[before] === timeS[row]) before--;
  return before >= range.start ? timeS[row] - timeS[before] : 0;
}

/**
 * Continues the fall of four readings: where the falls over equal times grow, by a straight line and an exponential
 * through them, which is how a cell's voltage goes down towards empty; else by a straight line and a parabola.
 */
export function continuedFall(
  timeS: readonly number[],
  voltageV: readonly number[],
  noiseV: number,
): ContinuedFall {
  const slope = (k: number): number =>
    timeS[k + 1] > timeS[k] ? (voltageV[k] - voltageV[k + 1]) / (timeS[k + 1] - timeS[k]) : 0;
  const spanS = timeS[3] - timeS[2];
  const [early, middle, late] = [slope(0) * spanS, slope(1) * spanS, slope(2) * spanS];
  const [first, second] = [middle - early, late - middle];
  const equal = Math.abs(timeS[1] - timeS[0] - spanS) < 0.1 * spanS;
  // A second difference is off by about √6 times the noise of a reading.
  const open = 3 * Math.sqrt(6) * noiseV;
  const coarse = second - open > COARSE_KNEE * (Math.max(0, first) + open);
  if (equal && first > 6 * noiseV && second > 1.05 * first) {
    const ratio = Math.min(second / first, 100);
    const growing = second / (1 - 1 / ratio);
    const steady = late - growing;
    return {
      coarse,
      exact: true,
      slope: (steady + (growing * ratio * Math.log(ratio)) / (ratio - 1)) / spanS,
      fallV: (seconds) => {
        const x = seconds / spanS;
        return steady * x + (growing * ratio * (ratio ** x - 1)) / (ratio - 1);
      },
    };
  }
  const bend = spanS > 0 ? Math.max(0, second) / spanS ** 2 : 0;
  const now = Math.max(0, late / Math.max(spanS, 1e-9)) + (bend * spanS) / 2;
  return {
    coarse,
    exact: false,
    slope: now,
    fallV: (seconds) => now * seconds + (bend * seconds * seconds) / 2,
  };
}
