import { secondDifferenceNoise } from '../numeric/index.ts';
import { currentScale, largeCurrent } from './currentScale.ts';
import { gapBefore } from './gaps.ts';
import { type KeptRows, keepRows } from './keepRows.ts';
import type { RecordColumns } from './record.ts';
import { columnResolution, currentResolution } from './resolution.ts';

/** A reading that cannot be the cell's. */
export interface BadReading {
  readonly row: number;
  readonly column: 'voltageV' | 'currentA';
  readonly value: number;
}

/** A record whose bad readings are replaced by what stands between their neighbours, and which they were. */
export interface CleanedRecord {
  readonly record: RecordColumns;
  readonly bad: readonly BadReading[];
}

/** Outside this no reading is the voltage of a lithium cell under test. Common practice, no source. */
const LOWEST_V = 0.1;
const HIGHEST_V = 6;
/** Smallest departure of a single voltage from its neighbours that counts, in V. Common practice, no source. */
const LEAST_JUMP_V = 0.1;
/** Multiple of its noise by which a single reading stands out. */
const STANDS_OUT = 20;
/** Longest group of bad rows that is recognised. */
const LONGEST_GROUP = 2;

/**
 * Finds single readings (one or two rows) that are faults of the log: a voltage that leaves its neighbours although they
 * agree and the current did not change; a voltage that no cell has; a current beyond both its neighbours without an
 * answer of the voltage, which stays between theirs. A pulse of one row is none of these, because both columns change.
 */
export function withoutBadRows(record: RecordColumns): CleanedRecord {
  const bad = [...badVoltages(record, LEAST_JUMP_V), ...badCurrents(record)];
  if (bad.length === 0) return { record, bad };
  const voltageV = record.voltageV.slice();
  const currentA = record.currentA.slice();
  for (const column of ['voltageV', 'currentA'] as const) {
    const rows = new Set(bad.filter((one) => one.column === column).map((one) => one.row));
    bridge(record.timeS, column === 'voltageV' ? voltageV : currentA, rows);
  }
  return { record: { ...record, voltageV, currentA }, bad: bad.sort((a, b) => a.row - b.row) };
}

/** A record without its rows of bad readings, which they were, and which row of the record each kept row was. */
export type ThinnedRecord = CleanedRecord & KeptRows;

/** In a record for resistances smaller faults matter: smallest departure in V. Common practice, no source. */
const LEAST_JUMP_OF_PULSES_V = 0.005;
/** Share of the rows above which odd readings are the record's nature and not faults of the log. */
const MOST_BAD = 0.02;

/**
 * Leaves out the rows with bad readings (see {@link withoutBadRows}). Beside an edge nothing may stand in for a reading, and a
 * fit needs none in its place.
 */
export function dropBadRows(record: RecordColumns): ThinnedRecord {
  const rows = record.timeS.length;
  const bad = [...badVoltages(record, LEAST_JUMP_OF_PULSES_V), ...badCurrents(record)];
  if (bad.length === 0 || bad.length > Math.max(2, MOST_BAD * rows))
    return { record, bad: [], rowOf: (row) => row };
  const dropped = new Set(bad.map(({ row }) => row));
  const kept = Array.from({ length: rows }, (_, row) => row).filter((row) => !dropped.has(row));
  return { ...keepRows(record, kept), bad: bad.sort((a, b) => a.row - b.row) };
}

/** Puts a straight line between the good neighbours of the rows given. */
function bridge(timeS: Float64Array, values: Float64Array, rows: ReadonlySet<number>): void {
  for (const row of rows) {
    let before = row - 1;
    let after = row + 1;
    while (rows.has(before)) before--;
    while (rows.has(after)) after++;
    if (before < 0 && after >= values.length) continue;
    if (before < 0) values[row] = values[after];
    else if (after >= values.length) values[row] = values[before];
    else {
      const spanS = timeS[after] - timeS[before];
      const share = spanS > 0 ? (timeS[row] - timeS[before]) / spanS : 0;
      values[row] = values[before] + share * (values[after] - values[before]);
    }
  }
}

function badVoltages(record: RecordColumns, leastJumpV: number): BadReading[] {
  const { voltageV, currentA } = record;
  const noiseV = Math.max(
    secondDifferenceNoise(voltageV, () => true),
    Math.min(columnResolution(voltageV), leastJumpV) / Math.sqrt(12),
  );
  const leastV = Math.max(leastJumpV, STANDS_OUT * noiseV);
  const largeA = largeCurrent(currentA);
  const sameCurrent = (a: number, b: number): boolean =>
    Math.abs(currentA[a] - currentA[b]) <= 0.1 * Math.max(Math.abs(currentA[a]), 0.1 * largeA);
  const found: BadReading[] = [];
  for (let row = 0; row < voltageV.length; row++) {
    if (voltageV[row] < LOWEST_V || voltageV[row] > HIGHEST_V) {
      found.push({ row, column: 'voltageV', value: voltageV[row] });
      continue;
    }
    const length = groupAt(row, record.timeS, (first, last) => {
      const [a, b] = [voltageV[first - 1], voltageV[last + 1]];
      let least = Infinity;
      for (let i = first; i <= last; i++) {
        if (!sameCurrent(first - 1, i)) return false;
        const outside = Math.max(voltageV[i] - Math.max(a, b), Math.min(a, b) - voltageV[i]);
        least = Math.min(least, outside);
      }
      return sameCurrent(first - 1, last + 1) && least > leastV && Math.abs(b - a) <= 0.2 * least;
    });
    for (let i = row; i < row + length; i++) found.push({ row: i, column: 'voltageV', value: voltageV[i] });
    row += Math.max(0, length - 1);
  }
  return found;
}

function badCurrents(record: RecordColumns): BadReading[] {
  const { voltageV, currentA } = record;
  const scale = currentScale(record, currentResolution(currentA));
  const near = (a: number, b: number): boolean => Math.abs(currentA[a] - currentA[b]) <= 0.05 * scale.largeA;
  // Where the current changes at every row, so does the voltage: that is not its noise.
  const noiseV = secondDifferenceNoise(voltageV, (row) => near(row - 1, row) && near(row, row + 1));
  const answerV = Math.max(5 * noiseV, 1.5 * Math.min(columnResolution(voltageV), 0.02), 1e-4);
  const found: BadReading[] = [];
  for (let row = 0; row < currentA.length; row++) {
    const length = groupAt(row, record.timeS, (first, last) => {
      const [a, b] = [currentA[first - 1], currentA[last + 1]];
      const usual = Math.max(Math.abs(a), Math.abs(b), 0.1 * scale.largeA);
      for (let i = first; i <= last; i++) {
        const outside = Math.max(currentA[i] - Math.max(a, b), Math.min(a, b) - currentA[i]);
        if (outside <= Math.max(0.1 * usual, STANDS_OUT * scale.loadNoiseA)) return false;
        const [low, high] = [voltageV[first - 1], voltageV[last + 1]];
        if (voltageV[i] > Math.max(low, high) + answerV || voltageV[i] < Math.min(low, high) - answerV)
          return false;
      }
      return true;
    });
    for (let i = row; i < row + length; i++) found.push({ row: i, column: 'currentA', value: currentA[i] });
    row += Math.max(0, length - 1);
  }
  return found;
}

/**
 * Length of the shortest group from `row` on that has a neighbour on both sides, without a gap between them, and that `stands`
 * calls bad; else 0.
 */
function groupAt(row: number, timeS: Float64Array, stands: (first: number, last: number) => boolean): number {
  if (row === 0 || gapBefore(timeS, row) > 0) return 0;
  for (let length = 1; length <= LONGEST_GROUP && row + length < timeS.length; length++) {
    if (gapBefore(timeS, row + length) > 0) return 0;
    if (stands(row, row + length - 1)) return length;
  }
  return 0;
}
