import { medianOf } from '../numeric/index.ts';
import type { RecordColumns } from '../records/index.ts';
import { type EdgeMoment, edgeMoment } from '../records/index.ts';
import type { CountingQuality } from './countingQuality.ts';
import type { ChargeRun } from './findRuns.ts';

/** A change of current at an end of a run. */
export interface RunEdge extends EdgeMoment {
  /** Level of the load at the edge, and that of the rest, in A. */
  readonly loadA: number;
  readonly restA: number;
  /** Last row before the change. */
  readonly before: number;
}

/** Share of the load from which on a row at an edge holds all of it. */
const WHOLE_LOAD = 0.95;
/** Rows from which the level of a load next to an edge is taken. */
const LEVEL_ROWS = 4;

/** When the load of a run was switched on; null where the record begins with it. */
export function startEdge(record: RecordColumns, run: ChargeRun, quality: CountingQuality): RunEdge | null {
  const { timeS, currentA } = record;
  const first = run.firstLoadedRow;
  if (first === 0 || first === run.start || !(timeS[first] > timeS[first - 1])) return null;
  const next = currentA.subarray(first + 1, Math.min(run.lastLoadedRow, first + LEVEL_ROWS) + 1);
  const levelA = next.length === 0 ? currentA[first] : medianOf(next);
  const loadA = isPartial(currentA[first], levelA, next) ? levelA : currentA[first];
  const restA = restLevel(record, first - 1, quality);
  const levels = { fromA: restA, toA: loadA };
  const found = edgeMoment(record, first, run.lastLoadedRow + 1, levels, tolerance(loadA - restA));
  return { ...withShortRamps(found, timeS[first]), loadA, restA, before: first - 1 };
}

/** When the load of a run was switched off; null where the record ends with it. */
export function endEdge(record: RecordColumns, run: ChargeRun, quality: CountingQuality): RunEdge | null {
  const last = lastWholeRow(record, run);
  if (last + 1 >= run.end || !(record.timeS[last + 1] > record.timeS[last])) return null;
  const loadA = record.currentA[last];
  const end = Math.min(run.end, run.lastLoadedRow + 2 + LEVEL_ROWS);
  const restA = restLevel(record, run.lastLoadedRow + 1, quality);
  const found = edgeMoment(record, last + 1, end, { fromA: loadA, toA: restA }, tolerance(loadA - restA));
  return { ...withShortRamps(found, record.timeS[last + 1]), loadA, restA, before: last };
}

/** Last row of a run that carries the whole load: not one that was read, or averaged, while the load went off. */
export function lastWholeRow({ currentA }: RecordColumns, run: ChargeRun): number {
  const last = run.lastLoadedRow;
  if (last - LEVEL_ROWS < run.firstLoadedRow) return last;
  const before = currentA.subarray(last - LEVEL_ROWS, last);
  return isPartial(currentA[last], medianOf(before), before) ? last - 1 : last;
}

/** Whether a reading lies between a rest and a level that its neighbours keep. */
function isPartial(reading: number, levelA: number, neighbours: Float64Array): boolean {
  const steady = neighbours.length > 1 && neighbours.every((value) => Math.abs(value / levelA - 1) < 0.02);
  return steady && Math.abs(reading) < WHOLE_LOAD * Math.abs(levelA) && reading * levelA > 0;
}

/** A row that holds part of the load may also have been read in a ramp much shorter than the interval, which was then. */
function withShortRamps(edge: EdgeMoment, rowS: number): EdgeMoment {
  if (!edge.partial) return edge;
  const earliestS = edge.momentS - edge.halfWidthS;
  const latestS = Math.max(edge.momentS + edge.halfWidthS, rowS);
  return { ...edge, momentS: (earliestS + latestS) / 2, halfWidthS: (latestS - earliestS) / 2 };
}

const tolerance = (changeA: number): number => (1 - WHOLE_LOAD) * Math.abs(changeA);

/** Current of a row beside a load: the offset where it rests, else its reading. */
function restLevel({ currentA }: RecordColumns, row: number, quality: CountingQuality): number {
  const offsetA = quality.offset?.valueA ?? 0;
  const reading = currentA[row] ?? offsetA;
  return Math.abs(reading - offsetA) <= quality.restA ? offsetA : reading;
}
