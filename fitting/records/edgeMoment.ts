import { medianOf } from '../numeric/index.ts';
import type { RecordColumns } from './record.ts';

/** When a current really changed, as far as its rows tell. */
export interface EdgeMoment {
  /** Middle of the moments that the rows leave open, in the record's time. */
  readonly momentS: number;
  /** Half of the span that they leave open; 0 where both sides of the edge were written. */
  readonly halfWidthS: number;
  /** First row after the edge whose current has settled. */
  readonly settled: number;
  /** Centre of the change by its rows, taken as single readings; null where none shows it on its way. */
  readonly centreS: number | null;
  /** Whether a row was read, or averaged, while the current moved. */
  readonly partial: boolean;
}

/** Standard uncertainty of the moment. Instruments write the row before an edge or the row after it at the edge
 * itself more often than anything between, so the span counts as arcsine-distributed: its half width over √2
 * (JCGM 101:2008, 6.4.6), where a rectangle would give half width over √3. */
export function momentUncertainty(edge: Pick<EdgeMoment, 'halfWidthS'>): number {
  return edge.halfWidthS / Math.SQRT2;
}

/** Rows, and share of the rows under the new level, that a current may take to settle. */
const LONGEST_TRANSITION = 12;
const LONGEST_SHARE = 0.3;
/** Share of the change within which a current that creeps up to its level has come to it. */
const NEARLY = 0.005;
/** An interval this many times the usual one beside it was not sampled through: the edge itself called for a row. */
const TRIGGERED = 3;

/**
 * The moment of a change of current from the rows around it.
 *
 * Between the last row before and the first row after a sudden change nothing is known. Rows read while the current
 * moves narrow it down by charge: a row that holds the mean over its interval puts the change at
 * t − ∫(i − i₀)dt/(i₁ − i₀) with i taken back over each interval, a row read on a ramp half an interval later.
 * Where the first interval after the change is that of the rows after it and not that of the rows before, sampling
 * restarted with the step: the change came right after the row before. Where rows come far more often on one side, it
 * fell within one of those short intervals of the nearest of them: the instrument writes a row at the change, or would
 * have written the next.
 *
 * @param row first row after the change
 * @param end row after the last that may belong to the new level
 * @param toleranceA within which a reading has settled
 */
export function edgeMoment(
  record: RecordColumns,
  row: number,
  end: number,
  levels: { readonly fromA: number; readonly toA: number },
  toleranceA: number,
): EdgeMoment {
  const { timeS, currentA } = record;
  const { fromA, toA } = levels;
  const changeA = toA - fromA;
  const last = Math.min(end - 1, row + Math.max(LONGEST_TRANSITION, Math.round(LONGEST_SHARE * (end - row))));
  const firstWithin = (allowedA: number): number => {
    let k = row;
    while (k < last && Math.abs(currentA[k] - toA) > allowedA) k++;
    return Math.abs(currentA[k] - toA) > allowedA ? row : k;
  };
  const exactly = firstWithin(toleranceA);
  const creeps = exactly === row && Math.abs(currentA[row] - toA) > toleranceA;
  const settled = creeps ? firstWithin(Math.max(toleranceA, NEARLY * Math.abs(changeA))) : exactly;
  if (settled === row) {
    const [earliestS, latestS] = openSpan(timeS, row, end);
    const halfWidthS = (latestS - earliestS) / 2;
    return { momentS: earliestS + halfWidthS, halfWidthS, centreS: null, settled, partial: false };
  }
  const passed = (k: number): boolean => (currentA[k] - toA) * Math.sign(changeA) > 0;
  if (passed(row)) return overshot(record, row, settled, end, levels);
  let meanS = 0;
  let widthS = 0;
  for (let k = row; k <= settled; k++) {
    const here = k === settled ? toA : currentA[k];
    const before = k === row ? fromA : currentA[k - 1];
    const share = (here - before) / changeA;
    meanS += share * 0.5 * (timeS[k] + timeS[k - 1]);
    widthS += Math.abs(share) * (timeS[k] - timeS[k - 1]);
  }
  // From the averaged reading (half a width early) to the ramp, whose corners no row shows.
  return {
    momentS: meanS - 0.22 * widthS,
    halfWidthS: 0.28 * widthS,
    centreS: meanS,
    settled,
    partial: true,
  };
}

/**
 * The moment of a change whose current passed its new level before it settled: the charge that came on top counts as an
 * earlier change. How long the current was beyond the level lies between nothing and the time to the next reading.
 */
function overshot(
  { timeS, currentA }: RecordColumns,
  row: number,
  settled: number,
  end: number,
  { fromA, toA }: { readonly fromA: number; readonly toA: number },
): EdgeMoment {
  const [earliestS, latestS] = openSpan(timeS, row, end);
  let aheadS = 0;
  for (let k = row; k < settled; k++)
    aheadS += ((currentA[k] - toA) / (toA - fromA)) * (timeS[k + 1] - Math.max(timeS[k - 1], earliestS));
  const halfWidthS = (latestS - earliestS) / 2 + Math.abs(aheadS) / 2;
  return {
    momentS: (earliestS + latestS) / 2 - aheadS / 2,
    halfWidthS,
    centreS: null,
    settled,
    partial: true,
  };
}

/** Share of the interval within which an instrument whose sampling restarts with the step makes the step. */
const PROMPT = 0.1;

/** Factor between the intervals of two steps from which on they were set, not met by chance. */
const OTHER_INTERVAL = 1.8;
/** Share within which the intervals of one step are equal. */
const SAME_INTERVAL = 0.15;

/**
 * Whether sampling restarted with the step: the first interval is the new step's own, which keeps to it, and not the
 * earlier one's.
 */
function restarts(waitedS: number, beforeS: number, afterS: number, next: readonly number[]): boolean {
  const other = beforeS > OTHER_INTERVAL * afterS || afterS > OTHER_INTERVAL * beforeS;
  const own = [waitedS, ...next].every((interval) => Math.abs(interval / afterS - 1) < SAME_INTERVAL);
  return other && own;
}

/** Rows looked at before and after a change, and the share of the interval within which they lie on one grid. */
const GRID_ROWS = { before: 2000, after: 6 };
const ON_GRID = 0.02;

/**
 * Whether the rows on both sides of a change lie on one grid of the interval: then no row says that sampling restarted. Where it
 * does with every step, the grids of earlier steps differ.
 */
function onOneGrid(timeS: Float64Array, row: number, intervalS: number): boolean {
  const origin = timeS[row];
  const last = Math.min(timeS.length, row + GRID_ROWS.after);
  for (let k = Math.max(0, row - GRID_ROWS.before); k < last; k++) {
    const steps = (timeS[k] - origin) / intervalS;
    if (Math.abs(steps - Math.round(steps)) > ON_GRID) return false;
  }
  return true;
}

/** Factor between the usual intervals on both sides within which they are one, lost rows and a clock that jitters allowed for. */
const SAME_SAMPLING = 1.5;

/**
 * Whether rows are missing at a change: those on both sides keep about one interval, and only the change's own is longer. Then the edge
 * called for no row.
 */
function rowsAreMissing(timeS: Float64Array, row: number, end: number, waitedS: number): boolean {
  const usual = (from: number, to: number): number => {
    const intervals: number[] = [];
    for (let k = Math.max(1, from); k < Math.min(end, to); k++) intervals.push(timeS[k] - timeS[k - 1]);
    return medianOf(intervals);
  };
  const [beforeS, afterS] = [usual(row - 5, row), usual(row + 1, row + 6)];
  const alike = beforeS < SAME_SAMPLING * afterS && afterS < SAME_SAMPLING * beforeS;
  return alike && waitedS > Math.max(beforeS, afterS);
}

/** Rows on each side of a change that show the clock's step, and the share of equal stamps among them from which on it is one. */
const CLOCK_ROWS = 20;
const SHARE_OF_EQUAL = 0.25;

/** Step of a clock that gives one stamp to several rows in turn, in s; 0 where every row has its own. */
function clockStep(timeS: Float64Array, row: number): number {
  const first = Math.max(1, row - CLOCK_ROWS);
  const last = Math.min(timeS.length, row + CLOCK_ROWS);
  const steps: number[] = [];
  for (let k = first; k < last; k++) if (timeS[k] > timeS[k - 1]) steps.push(timeS[k] - timeS[k - 1]);
  const equal = last - first - steps.length;
  return steps.length > 0 && equal >= SHARE_OF_EQUAL * (last - first) ? medianOf(steps) : 0;
}

function openSpan(timeS: Float64Array, row: number, end: number): [number, number] {
  const waitedS = timeS[row] - timeS[row - 1];
  const stepS = clockStep(timeS, row);
  // Each stamp, also that of a later reading, may be wrong by half a step.
  if (stepS > 0) return [timeS[row - 1] - stepS, timeS[row] + stepS];
  const beforeS = usualInterval(timeS, Math.max(0, row - 6), row);
  const afterS = usualInterval(timeS, row, Math.min(end, row + 6));
  const next = row + 2 < end ? [timeS[row + 1] - timeS[row], timeS[row + 2] - timeS[row + 1]] : [0, 0];
  if (afterS !== null && beforeS !== null && restarts(waitedS, beforeS, afterS, next)) {
    // An instrument that keeps to one clock meets the pattern by chance, and then has the step anywhere in the interval.
    if (onOneGrid(timeS, row, Math.min(beforeS, afterS))) return [timeS[row - 1], timeS[row]];
    return [timeS[row - 1], timeS[row - 1] + PROMPT * waitedS];
  }
  if (afterS !== null && beforeS !== null && rowsAreMissing(timeS, row, end, waitedS)) {
    return [timeS[row - 1], timeS[row]];
  }
  if (afterS !== null && waitedS > TRIGGERED * afterS) return [timeS[row] - afterS, timeS[row]];
  // The last interval before may be of another step than those before it, as long as the one in which the change fell.
  const lastS = row > 1 ? timeS[row - 1] - timeS[row - 2] : waitedS;
  if (beforeS !== null && waitedS > TRIGGERED * Math.max(beforeS, lastS))
    return [timeS[row - 1], timeS[row - 1] + beforeS];
  return [timeS[row - 1], timeS[row]];
}

/** Median interval between the rows; null where there are fewer than three of them, or they bear one time. */
function usualInterval(timeS: Float64Array, from: number, to: number): number | null {
  const intervals: number[] = [];
  for (let k = from + 1; k < to; k++) intervals.push(timeS[k] - timeS[k - 1]);
  const usual = intervals.length < 2 ? null : medianOf(intervals);
  return usual !== null && usual > 0 ? usual : null;
}
