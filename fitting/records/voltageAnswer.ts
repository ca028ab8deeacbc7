import { medianOf } from '../numeric/index.ts';
import type { CurrentScale } from './currentScale.ts';
import type { RecordColumns, RowRange } from './record.ts';
import { loadSign, type Segment } from './stepCuts.ts';

/** What one reading of the voltage is good for, in V. */
export interface VoltageReading {
  readonly noiseV: number;
  readonly resolutionV: number;
}

/** No cell's voltage is logged more coarsely than this; larger steps are levels of the record itself. */
const COARSEST_V = 0.02;

/** The reading that noise and resolution of a record's voltage column tell. */
export function voltageReading(noiseV: number, resolutionV: number): VoltageReading {
  if (resolutionV <= COARSEST_V) return { noiseV, resolutionV };
  return { noiseV: Math.min(noiseV, COARSEST_V / Math.sqrt(12)), resolutionV: COARSEST_V };
}

/** Rows next to an edge whose median is the voltage on that side. */
const EDGE_ROWS = 3;
/** Multiple of its own noise by which a change of voltage counts as an answer. */
const ANSWER = 5;

/**
 * Whether the voltage follows a current: by more than its noise and its resolution, at the beginning of the rows or by
 * their end. Its sign does not matter here, because a file may have the current's sign turned round.
 *
 * @param range rows of the current; the row before them is the state without it
 */
export function voltageAnswers(record: RecordColumns, range: RowRange, reading: VoltageReading): boolean {
  const { voltageV } = record;
  const from = Math.max(0, range.start - EDGE_ROWS);
  const before = medianOf(voltageV.subarray(from, range.start));
  const rows = Math.min(EDGE_ROWS, range.end - range.start);
  const first = medianOf(voltageV.subarray(range.start, range.start + rows));
  const last = medianOf(voltageV.subarray(range.end - rows, range.end));
  const noise = ANSWER * reading.noiseV * Math.sqrt(1 / rows + 1 / (range.start - from));
  const least = Math.max(noise, 0.9 * reading.resolutionV, 1e-12);
  return Math.abs(first - before) > least || Math.abs(last - before) > least;
}

/** Fewest loads from which something is concluded about all of their size. */
const FEWEST = 3;
/** Share of them that noise of the voltage may answer by chance. */
const BY_CHANCE = 0.2;

/** Rows in which current of one sign flows, with its largest distance from the offset in A. */
interface Load extends RowRange {
  readonly peakA: number;
  /** Whether the voltage follows it, or a change of current within it. */
  readonly answered: boolean;
}

/**
 * The current up to which a record rests, in A from the offset, judged by its voltage: readings that leave the rest band
 * again and again without an answer of the voltage are noise of the channel. Of the loads up to the size returned at
 * least three, and four fifths, are unanswered. In the log of a rest that holds nothing but noise that is the whole record.
 *
 * @returns null where there is no such size
 */
export function unansweredCurrent(
  record: RecordColumns,
  segments: readonly Segment[],
  scale: CurrentScale,
  reading: VoltageReading,
): number | null {
  const loads = loadsOf(record, segments, scale, reading).sort((a, b) => a.peakA - b.peakA);
  let silent = 0;
  let restA: number | null = null;
  loads.forEach((load, k) => {
    if (load.answered) return;
    silent++;
    if (silent >= FEWEST && silent >= (1 - BY_CHANCE) * (k + 1)) restA = load.peakA;
  });
  return restA;
}

/** Loads that begin inside the record, out of a rest or out of the other direction. */
function loadsOf(
  record: RecordColumns,
  segments: readonly Segment[],
  scale: CurrentScale,
  reading: VoltageReading,
): Load[] {
  const signOf = (segment: Segment): number => loadSign(record.currentA[segment.start], scale);
  const loads: Load[] = [];
  for (let s = 1; s < segments.length; s++) {
    const sign = signOf(segments[s]);
    if (sign === 0 || sign === signOf(segments[s - 1]) || segments[s].cause !== 'current') continue;
    let last = s;
    while (segments[last + 1]?.cause === 'current' && signOf(segments[last + 1]) === sign) last++;
    const range = { start: segments[s].start, end: segments[last].end };
    const parts = [range, ...segments.slice(s, last + 1)];
    const answered = parts.some((part) => voltageAnswers(record, part, reading));
    loads.push({ ...range, peakA: peakCurrent(record, range, scale), answered });
  }
  return loads;
}

function peakCurrent(record: RecordColumns, range: RowRange, scale: CurrentScale): number {
  let peak = 0;
  for (let row = range.start; row < range.end; row++) {
    peak = Math.max(peak, Math.abs(record.currentA[row] - (scale.restOffsetA ?? 0)));
  }
  return peak;
}
