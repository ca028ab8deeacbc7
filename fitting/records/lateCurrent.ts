import { secondDifferenceNoise } from '../numeric/index.ts';
import { currentScale } from './currentScale.ts';
import { gapBefore } from './gaps.ts';
import { type KeptRows, keepRows } from './keepRows.ts';
import type { RecordColumns } from './record.ts';
import { columnResolution, currentResolution } from './resolution.ts';

/** A record without the rows whose current is an earlier one's. */
export interface InStep extends KeptRows {
  /** Rows of the given record that were left out. */
  readonly late: readonly number[];
}

/** Share of the largest current that a change of current must have to be an edge. */
const EDGE = 0.1;
/** Most rows that a current channel is behind. */
const LONGEST_LATE = 12;
/** Share of the change of voltage over an edge that one row shows where the voltage answered. */
const ANSWERED = 0.4;
/** Share that may still come with the current's own row. */
const STILL_TO_COME = 0.25;
/** Multiple of its noise by which a step of the voltage stands out. */
const STANDS_OUT = 8;

/**
 * Leaves out rows at edges whose voltage has answered a change of current that the current column shows only rows later, as where
 * the current is renewed more slowly than the voltage, or read after it. In such a row voltage and current are of different
 * moments: at the end of a pulse it would be read as a voltage under load.
 */
export function withoutLateCurrent(record: RecordColumns): InStep {
  const { timeS, voltageV, currentA } = record;
  const resolutionA = currentResolution(currentA);
  const { largeA, loadNoiseA } = currentScale(record, resolutionA);
  const edgeA = Math.max(EDGE * largeA, 6 * loadNoiseA, 2.5 * resolutionA);
  const sameA = Math.max(0.25 * edgeA, 3 * loadNoiseA + resolutionA);
  const noiseV = secondDifferenceNoise(voltageV);
  const leastV = Math.max(STANDS_OUT * noiseV, 2.5 * Math.min(columnResolution(voltageV), 0.02), 1e-9);
  const late = new Set<number>();
  let after = 1;
  for (let row = 1; row < timeS.length; row++) {
    if (gapBefore(timeS, row) > 0 || timeS[row] < timeS[row - 1]) after = row + 1;
    if (Math.abs(currentA[row] - currentA[row - 1]) <= edgeA) continue;
    const first = answerBefore(row);
    if (first !== null) for (let k = first; k < row; k++) late.add(k);
    after = row + 1;
  }
  const rows = Array.from(timeS, (_, row) => row);
  return {
    ...keepRows(record, late.size === 0 ? rows : rows.filter((row) => !late.has(row))),
    late: [...late],
  };

  /** First row whose voltage answers the change of current that is read at `row`; null where none before it does. */
  function answerBefore(row: number): number | null {
    let largest = row;
    for (let k = row - 1; k >= Math.max(after, row - LONGEST_LATE); k--) {
      if (Math.abs(currentA[k] - currentA[row - 1]) > sameA) break;
      if (Math.abs(stepV(k)) > Math.abs(stepV(largest))) largest = k;
    }
    if (largest === row) return null;
    const wholeV = voltageV[row] - voltageV[largest - 1];
    const answers = Math.abs(stepV(largest)) > Math.max(leastV, ANSWERED * Math.abs(wholeV));
    const goesWith = stepV(largest) * (currentA[row] - currentA[row - 1]) > 0;
    const done = Math.abs(stepV(row)) <= Math.max(leastV, STILL_TO_COME * Math.abs(stepV(largest)));
    return answers && goesWith && done && wholeV * stepV(largest) > 0 ? largest : null;
  }

  function stepV(row: number): number {
    return voltageV[row] - voltageV[row - 1];
  }
}
