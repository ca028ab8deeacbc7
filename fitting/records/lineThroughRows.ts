import type { RecordColumns } from './record.ts';

/** The straight line through the voltage of some rows. */
export interface RowsLine {
  /** V per s; 0 where fewer than three rows, or rows of one moment, tell none. */
  readonly slopeVPerS: number;
  /** Standard error of the slope for readings with the noise of 1 V; 0 where there is no slope. */
  readonly errorPerV: number;
  /** Standard deviation of the readings about the line in V; 0 where there is no slope. */
  readonly scatterV: number;
}

/**
 * The straight line through the voltage of the rows `first` to `last` (both included), by least squares.
 *
 * @param columns time in s, voltage in V
 */
export function lineThroughRows(
  { timeS, voltageV }: Pick<RecordColumns, 'timeS' | 'voltageV'>,
  first: number,
  last: number,
): RowsLine {
  const rows = last - first + 1;
  let [meanS, meanV] = [0, 0];
  for (let k = first; k <= last; k++) {
    meanS += (timeS[k] - timeS[last]) / rows;
    meanV += (voltageV[k] - voltageV[last]) / rows;
  }
  let [products, squares] = [0, 0];
  for (let k = first; k <= last; k++) {
    const awayS = timeS[k] - timeS[last] - meanS;
    products += awayS * (voltageV[k] - voltageV[last] - meanV);
    squares += awayS * awayS;
  }
  if (!(squares > 0) || rows < 3) return { slopeVPerS: 0, errorPerV: 0, scatterV: 0 };
  const slopeVPerS = products / squares;
  let rest = 0;
  for (let k = first; k <= last; k++) {
    rest += (voltageV[k] - voltageV[last] - meanV - slopeVPerS * (timeS[k] - timeS[last] - meanS)) ** 2;
  }
  return { slopeVPerS, errorPerV: 1 / Math.sqrt(squares), scatterV: Math.sqrt(rest / (rows - 2)) };
}
